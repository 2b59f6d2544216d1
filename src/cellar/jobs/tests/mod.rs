//! Tests: what is tasted and tested, and what is added for it.

pub mod added;
pub mod figures;
pub mod marks;
pub mod material;
pub mod organic;
pub mod sampling;
pub mod sulfuring;
pub mod suspect;
pub mod tasting;
pub mod testing;
pub mod treating;
