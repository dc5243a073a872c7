//! The style language.
