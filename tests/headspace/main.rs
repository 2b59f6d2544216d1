//! The headspace estimate on simulated rooms: near, calibrated, and awake to leaks; whole for any odd observation.

#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

mod calibration;
mod chance;
mod house;
mod ideal;
mod leaks;
mod odd;
mod scored;
mod simulated;
