//! The core of the screen: what every page has in common. It knows no page; a test holds that.

pub mod acts;
pub(in crate::tui) mod asking;
pub mod bottom;
pub mod choice;
pub(in crate::tui) mod draw;
pub(in crate::tui) mod following;
pub mod frame;
pub(in crate::tui) mod head;
pub mod help;
pub mod house;
pub(in crate::tui) mod leaving;
pub mod line;
pub mod marks;
pub(in crate::tui) mod message;
pub mod messages;
pub mod model;
pub mod page;
pub mod sense;
pub mod stack;
pub mod text;
pub mod theme;
pub(in crate::tui) mod update;
pub(in crate::tui) mod who;
pub mod work;
