//! Boards, creases and strength figures.
