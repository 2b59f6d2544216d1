//! Wood: what the oak did, to order next year's.

pub mod oak;
