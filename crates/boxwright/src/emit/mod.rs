//! One file per format. An emitter never moves, joins or rounds geometry beyond its stated
//! decimals.

pub mod scene;
