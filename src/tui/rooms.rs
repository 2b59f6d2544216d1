//! The list of rooms: every page that opens from the floor, a line each. A new page is one file and its line here.

use super::bottles::bins::Bins;
use super::core::house::House;
use super::core::messages::Messages;
use super::core::page::Table;
use super::floor::lot_review::LotPage;
use super::floor::page::Floor;
use super::ledger::Ledger;

/// The screen of a cellar.
pub static HOUSE: House = House {
    floor: || Box::<Floor>::default(),
    find: super::find::open,
    rooms: &[&LotPage::ABOUT, &Bins::ABOUT, &Ledger::ABOUT, &Messages::ABOUT],
};
