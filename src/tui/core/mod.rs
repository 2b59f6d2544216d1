//! The core of the screen: what every page has in common. It knows no page; a test holds that.

pub mod acts;
pub mod bottom;
pub mod frame;
pub mod help;
pub mod house;
pub mod messages;
pub mod page;
pub mod sense;
pub mod stack;
