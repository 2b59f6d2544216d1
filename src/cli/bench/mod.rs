//! The bench: glasses, trials, blends.

pub(in crate::cli) mod assemblage;
pub(in crate::cli) mod blend;
pub(in crate::cli) mod blend_plan;
pub(in crate::cli) mod course;
pub(in crate::cli) mod design;
pub(in crate::cli) mod difference;
pub(in crate::cli) mod panel;
pub(in crate::cli) mod panel_table;
pub(in crate::cli) mod serving;
pub(in crate::cli) mod surface;
pub(in crate::cli) mod trial;
