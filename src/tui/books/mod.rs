//! What the books tell, on the screen: where a wine came from and went, and its trace to the bottles.

pub mod lineage;
pub mod trace;
