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
    rooms: &[
        Room::of::<AgentChoice>(),
        Room::of::<AtBench>(),
        Room::of::<Batch>(),
        Room::of::<Begin>(),
        Room::of::<BeginLine>(),
        Room::of::<BinLine>(),
        Room::of::<Bins>(),
        Room::of::<BlendPage>(),
        Room::of::<BottlingPage>(),
        Room::of::<CheckLine>(),
        Room::of::<ChecklistPage>(),
        Room::of::<Closing>(),
        Room::of::<CountPage>(),
        Room::of::<Elsewhere>(),
        Room::of::<FileLine>(),
        Room::of::<FiningPage>(),
        Room::of::<FormPage>(),
        Room::of::<Glasses>(),
        Room::of::<DiscrepancyPage>(),
        Room::of::<JournalPage>(),
        Room::of::<Ledger>(),
        Room::of::<LineagePage>(),
        Room::of::<LotPage>(),
        Room::of::<MendDatesPage>(),
        Room::of::<Messages>(),
        Room::of::<MovePage>(),
        Room::of::<OakPage>(),
        Room::of::<Opened>(),
        Room::of::<Picture>(),
        Room::of::<RatingPage>(),
        Room::of::<Ready>(),
        Room::of::<ResultsPage>(),
        Room::of::<RevealPage>(),
        Room::of::<RunPage>(),
        Room::of::<SamplePage>(),
        Room::of::<SetTrialPage>(),
        Room::of::<SettingsPage>(),
        Room::of::<SpreadsheetPage>(),
        Room::of::<TracePage>(),
        Room::of::<TrialPage>(),
        //
    ],
};
