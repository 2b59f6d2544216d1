//! Headspace: what a barrel lacks now, before its bung is pulled, and how sure that is.

mod barrel;
mod climate;
mod estimate;
mod leak;
mod matrix;
mod noise;
mod room;
mod soak;

pub use barrel::{Loss, Thirst};
pub use climate::{Climate, PUBLISHED_RATE, size, vapour_deficit};
pub use estimate::{Basis, Estimate};
pub use leak::Leak;
pub use room::{Drawn, RoomRate};
pub use soak::Wall;
