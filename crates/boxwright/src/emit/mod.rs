//! One file per format. An emitter never moves, joins or rounds geometry beyond its stated
//! decimals.

pub mod glb;
pub mod instructions;
pub mod picture;
pub mod scene;

mod letters;
#[cfg(test)]
mod poses;
