//! The rules of the cellar by example, a module a job, and what holds whatever happens.

#[path = "../support/mod.rs"]
mod support;

mod blend;
mod care;
mod checklist;
mod claims;
mod deciding;
mod dosing;
mod due;
mod evaporation;
mod exact;
mod fill;
mod fining;
mod gauging;
mod holding;
mod ledger;
mod lineage;
mod loss;
mod lot;
mod lot_review;
mod moving;
mod placing;
mod plan;
mod practice;
mod property;
mod racking;
mod receiving;
mod retraction;
mod room;
mod round;
mod sampling;
mod tasting;
mod testing;
mod topping;
mod treating;
mod trial;
mod trial_blend;
mod vessel;
mod walk;
mod walk_order;
mod wire;
mod wood;
mod work;
mod work_walk;
