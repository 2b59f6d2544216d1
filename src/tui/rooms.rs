//! The list of rooms: every page, a line each, so that the floor knows the ways into it and the find box what can be done there. A new
//! page is one file and its line here.

use super::bench::glasses::{self, Glasses, Opened};
use super::bench::list::AtBench;
use super::bench::trial::reveal::RevealPage;
use super::bench::trial::{BlendPage, RatingPage, SetTrialPage, TrialPage};
use super::books::counting::{Closing, CountPage};
use super::books::discrepancies::{self, DiscrepancyPage};
use super::books::form::FormPage;
use super::books::journal::JournalPage;
use super::books::ledger::Ledger;
use super::books::lineage::LineagePage;
use super::books::mend_dates::MendDatesPage;
use super::books::settings::SettingsPage;
use super::books::trace::TracePage;
use super::bottles::bins::{BinLine, Bins, Ready};
use super::bottles::run::RunPage;
use super::core::house::{House, Room};
use super::core::messages::Messages;
use super::finish::bottling::{self, BottlingPage};
use super::finish::checklist::{CheckLine, ChecklistPage};
use super::finish::fining::{AgentChoice, Batch, FiningPage};
use super::finish::moving::MovePage;
use super::floor::begin::{self, Begin, BeginLine};
use super::floor::elsewhere::Elsewhere;
use super::floor::importing::FileLine;
use super::floor::importing::understood::SpreadsheetPage;
use super::floor::lot_review::LotPage;
use super::floor::page::Floor;
use super::floor::pictures::Picture;
use super::floor::{elsewhere, find, head, works};
use super::tests::drawing::SamplePage;
use super::tests::results::ResultsPage;
use super::wood::oak::OakPage;

/// The screen of a cellar.
pub static HOUSE: House = House {
    floor: || Box::<Floor>::default(),
    find: find::open,
    begins: begin::open_if_empty,
    goes_astray: elsewhere::open,
    under_way: head::under_way,
    tells: &[discrepancies::told, works::told],
    under_way_caution: works::caution_under_way,
    unentered: &[bottling::unentered, glasses::unentered],
    floor_chapters: &["topping", "floor"],
    rooms: &[
        Room::of::<AgentChoice>("finish"),
        Room::of::<AtBench>("bench"),
        Room::of::<Batch>("finish"),
        Room::of::<Begin>("setup"),
        Room::of::<BeginLine>("setup"),
        Room::of::<BinLine>("bottles"),
        Room::of::<Bins>("bottles"),
        Room::of::<BlendPage>("blend"),
        Room::of::<BottlingPage>("bottles"),
        Room::of::<CheckLine>("finish"),
        Room::of::<ChecklistPage>("finish"),
        Room::of::<Closing>("books"),
        Room::of::<CountPage>("books"),
        Room::of::<Elsewhere>("safety"),
        Room::of::<FileLine>("setup"),
        Room::of::<FiningPage>("finish"),
        Room::of::<FormPage>("books"),
        Room::of::<Glasses>("tests"),
        Room::of::<DiscrepancyPage>("merging"),
        Room::of::<JournalPage>("books"),
        Room::of::<Ledger>("books"),
        Room::of::<LineagePage>("books"),
        Room::of::<LotPage>("floor"),
        Room::of::<MendDatesPage>("books"),
        Room::of::<Messages>("floor"),
        Room::of::<MovePage>("racking"),
        Room::of::<OakPage>("wood"),
        Room::of::<Opened>("tests"),
        Room::of::<Picture>("topping"),
        Room::of::<RatingPage>("bench"),
        Room::of::<Ready>("bottles"),
        Room::of::<ResultsPage>("tests"),
        Room::of::<RevealPage>("bench"),
        Room::of::<RunPage>("bottles"),
        Room::of::<SamplePage>("tests"),
        Room::of::<SetTrialPage>("bench"),
        Room::of::<SettingsPage>("setup"),
        Room::of::<SpreadsheetPage>("setup"),
        Room::of::<TracePage>("books"),
        Room::of::<TrialPage>("bench"),
        //
    ],
};
