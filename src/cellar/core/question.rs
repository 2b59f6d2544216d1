//! What is asked once before it is entered: it can be so, but it would surprise, or it costs something.
//!
//! One list for every door: the screen asks and the same key again says that it is so, the commands ask and `--sure` says so,
//! `record` takes the act and names the question, or refuses it with `--careful`. History is never asked. Each question is a
//! whole sentence that says what is odd; what answers it is the door's to say.

use thiserror::Error;

use super::clock::{Witness, said};
use super::day::Day;
use super::doing::much;
use super::evolve::evolve;
use super::fact::{Stamp, What};
use super::label::Label;
use super::moment::Moment;
use super::state::State;
use crate::cellar::jobs::finish::checklist::open_words;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::books::claims::Broken;
use crate::cellar::views::topping::crossing::OtherWine;
use crate::cellar::views::topping::odd::{ManyOdd, Odd};
use crate::reckon::material::{FOR_INFORMATION, WATER_FIGURE, WATER_SECTION};
use crate::reckon::organic::ASK;
use crate::units::{Mass, Volume, by_count, counted, figure_to, litres, percent};

/// What is asked before an act is entered.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum Question {
    #[error("{} at {vessel}, where {} is expected.", litres(*.poured), litres(*.expected))]
    ImprobableTopping { vessel: Label, poured: Volume, expected: Volume },
    #[error("{vessel} lacks {} by the book, and {} would not fill it: the rest would be booked as a gain.", litres(*.lacks), litres(*.poured))]
    HardlyFull { vessel: Label, poured: Volume, lacks: Volume },
    #[error("The last topping on {} lies after {}, when that is to be known: it would be taken as not known.", .topped_on.show(), .on.show())]
    ToppedAhead { topped_on: Day, on: Day },
    #[error("{measured} at {vessel}, where {expected} is expected.")]
    ImprobableMeasure { vessel: Label, measured: String, expected: String },
    #[error("{vessel} is done: {in_place}.")]
    WrittenOver { vessel: Label, in_place: String },
    #[error("That is {} more than the book has in {vessel}: it would be booked as a gain.", litres(*.beyond))]
    BeyondBook { vessel: Label, beyond: Volume },
    #[error("{}, {:.0} % of what leaves {vessel}, would be lost.", litres(*.lost), .share * 100.0)]
    MuchLost { vessel: Label, lost: Volume, share: f64 },
    #[error("{} would come into {vessel}, which is empty and can hold {}.", much(*.volume, Mass::ZERO), litres(*.capacity))]
    LittleWine { vessel: Label, volume: Volume, capacity: Volume },
    #[error("{} of the {} in {vessel} would be {went}.", litres(*.volume), litres(*.holds))]
    MuchGone { vessel: Label, volume: Volume, holds: Volume, went: &'static str },
    #[error("{amount} of {material} into the {} in {vessel} is next to nothing.", litres(*.wine))]
    LittleAdded { vessel: Label, material: Label, amount: String, wine: Volume },
    #[error("{what} of {value} is hardly ever found: {usual} is usual.{meant}")]
    HardlyFound { what: String, value: f64, usual: String, meant: String },
    #[error("{} of {material} would come into the {} in {vessel}.", litres(*.solution), litres(*.wine))]
    MuchSolution { vessel: Label, material: Label, solution: Volume, wine: Volume },
    #[error("{vessel}{}: {above}. {FOR_INFORMATION}", if *.had { ", with what it was given before" } else { "" })]
    AboveFigures { vessel: Label, had: bool, above: String },
    #[error("As which acid is {} given? Taken as {} where nobody says; write it behind the figure (g/L H2SO4, meq/L), or once in the house settings: acid unit.", .analyte.name(), .analyte.read_as(None).unit())]
    WhichAcid { analyte: Analyte },
    #[error("The water of all additions to {vessel} would come to {} of the wine, above the {} of {WATER_SECTION}: make it up stronger, or in the wine itself. {FOR_INFORMATION}", percent(2, *.share), percent(0, WATER_FIGURE))]
    MuchWater { vessel: Label, share: f64 },
    #[error("The total SO2 of {vessel}{} would come to up to {total:.0} mg/L, above {above}. {FOR_INFORMATION}", and_more(*.more))]
    SulfitesAbove { vessel: Label, more: usize, total: f64, above: String },
    #[error("{material} of {strength}: only about {dissolves} of it dissolve at 20 °C. Check the unit.")]
    Undissolved { material: Label, strength: String, dissolves: String },
    #[error("{0}")]
    OtherWine(Box<OtherWine>),
    #[error("{vessel} is held: {why}. It would be given {material}.")]
    TreatedHeld { vessel: Label, why: String, material: Label },
    #[error("The wine in {into} would come from {} to about {} % vol: {says}.", figure_to(1, *.before), figure_to(1, *.after))]
    OtherClass { into: Label, before: f64, after: f64, says: &'static str },
    #[error("{vessels} of organic grapes. {words}. {ASK}")]
    OrganicEnds { vessels: String, words: String },
    #[error("{vessel} is suspect: {why}. Its wine would go into {into}.")]
    SuspectWine { vessel: Label, why: String, into: Label },
    #[error("{vessel} is suspect: {why}. Other wine would be topped from it.")]
    SuspectSource { vessel: Label, why: String },
    #[error("Look at {vessel} first: {why}.")]
    Odd { vessel: Label, why: Odd },
    #[error("{0}")]
    ManyOdd(Box<ManyOdd>),
    #[error("{vessel} becomes a topping vessel: it is topped no more and never due.")]
    ToppedNoMore { vessel: Label },
    #[error("'{written}' is new here; {known} is meant?")]
    NearMiss { written: Label, known: String },
    #[error(
        "'{written}' is new here; {known} is meant? Written like this it counts as something else, not as {known}."
    )]
    NearMaterial { written: Label, known: String },
    #[error(
        "'{material}' is not known here: is it sulfur dioxide, a fining agent, an acid, something else? It counts as something else until it is declared: declare material '{material}' --class so2 --so2-pct 57.6, or --same-as another."
    )]
    UnknownMaterial { material: Label },
    #[error(
        "How much sulfur dioxide '{material}' gives is not known, so it counts to no total until that is declared: declare material '{material}' --class so2 --so2-pct 50."
    )]
    UnknownStrength { material: Label },
    #[error("{vessel} was topped in this round already, with {}: this comes on top of it.", litres(*.took))]
    ToppedAlready { vessel: Label, took: Volume },
    #[error("{vessel} is done in the work {work} already: this comes on top of it.")]
    StepDone { vessel: Label, work: Label },
    #[error("{vessel} gauged at {}, where {} is expected: {}.", litres(*.measured), litres(*.expected), apart(*.measured, *.expected))]
    SurprisingGauging { vessel: Label, measured: Volume, expected: Volume },
    #[error("{vessel} holds {} of the lot '{lot}', which would all be called '{becomes}'.", litres(*.holds))]
    LotRenamed { vessel: Label, holds: Volume, lot: Label, becomes: Label },
    #[error("{} would no longer fit, the first on {}: {problem}", counted(*.facts, "later fact"), .at.show_date())]
    NoLongerFits { facts: usize, at: Moment, problem: String },
    #[error("{} would lose the right to say {}.", .broken.lot, .broken.words())]
    ClaimLost { broken: Box<Broken> },
    #[error("{lot} would be bottled though {}: {open}.", open_words(*.count))]
    ChecksOpen { lot: Label, count: usize, open: String },
    #[error("Nothing lies at '{place}' yet: it would be a new place.")]
    NewPlace { place: Label },
    #[error("{glass} is {said} already: what is written takes its place.")]
    GlassSaid { glass: String, said: String },
    #[error("No {number} stands before the words, as in {example}: the words would be taken alone.")]
    WordsAlone { number: &'static str, example: &'static str },
    #[error("{standing} Which barrel stood in which glass is revealed once and for good.")]
    Reveal { standing: String },
    #[error("Nothing of '{count}' would be booked.")]
    NothingBooked { count: Label },
    #[error("This laptop says {}, but {}. If that is wrong, set its clock first.", said(*.now, .seen.at()), .seen.says(*.now))]
    Clock { now: Moment, seen: Witness },
    #[error("{unentered} Leaving loses it.")]
    Leaving { unentered: String },
    #[error("{} of {run} {} until {}.", counted(*.bottles, "bottle"), by_count(*.bottles, "rests", "rest"), .release.show())]
    BeforeRelease { run: Label, bottles: u64, release: Day },
}

/// Several questions, one behind the other.
#[must_use]
pub fn sentences(questions: &[Question]) -> String {
    questions.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

/// How many are meant besides one that is named: ` and 11 more`.
fn and_more(more: usize) -> String {
    if more == 0 { String::new() } else { format!(" and {more} more") }
}

impl From<Broken> for Question {
    fn from(broken: Broken) -> Question {
        Question::ClaimLost { broken: Box::new(broken) }
    }
}

impl Question {
    /// What is asked of the totals of several vessels as one question, of the highest: a work may have a hundred.
    pub(in crate::cellar) fn of_the_highest_total(questions: Vec<Question>) -> Vec<Question> {
        let mut highest: Option<(Label, f64, String)> = None;
        let (mut asked, mut vessels) = (Vec::new(), 0_usize);
        for question in questions {
            let Question::SulfitesAbove { vessel, more, total, above } = question else {
                asked.push(question);
                continue;
            };
            vessels += 1 + more;
            if highest.as_ref().is_none_or(|known| total > known.1) {
                highest = Some((vessel, total, above));
            }
        }
        let more = vessels.saturating_sub(1);
        asked.extend(highest.map(|(vessel, total, above)| Question::SulfitesAbove { vessel, more, total, above }));
        asked
    }
}

/// By how much something measured is off what was expected: `4.6 L less`.
fn apart(measured: Volume, expected: Volume) -> String {
    let by = litres(Volume::from_ul(measured.as_ul().abs_diff(expected.as_ul())));
    format!("{by} {}", if measured < expected { "less" } else { "more" })
}

impl State {
    /// What is asked before some facts are entered at a moment, one after the other: what each would surprise by, and which
    /// claims they cost together. Cheap: they are tried on a copy that shares all they do not touch.
    #[must_use]
    pub fn questions(&self, whats: &[What], at: Moment) -> Vec<Question> {
        let mut questions: Vec<Question> = Vec::new();
        let mut ask = |state: &State, what: &What| {
            for question in what.deed().asked(state, at) {
                if !questions.contains(&question) {
                    questions.push(question);
                }
            }
        };
        match (whats, &self.last) {
            ([], _) => {}
            ([only], _) => ask(self, only),
            (_, None) => whats.iter().for_each(|what| ask(self, what)),
            (_, Some((key, _))) => {
                let stamp = Stamp::new(key.id.clone(), at);
                let mut after = self.clone();
                for what in whats {
                    ask(&after, what);
                    evolve(&mut after, &stamp, what);
                }
            }
        }
        let broken = self.broken_by(whats, at, self.practice.rules);
        questions.extend(broken.into_iter().map(Question::from));
        questions
    }
}
