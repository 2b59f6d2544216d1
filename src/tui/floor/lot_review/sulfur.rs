//! The parts of the page of a lot that tell of its sulfur dioxide and of what the law allows.

use ratatui::text::Line;

use super::sheet::LotSheet;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::tests::sulfuring::FreeOutlook;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cellar::views::floor::lot_review::limits::LimitReview;
use crate::cellar::views::floor::lot_review::readings::AnalyteReview;
use crate::cellar::views::floor::lot_review::sulfur::SulfurReview;
use crate::reckon::limits::{Judgement, Subject};
use crate::told::hazard::{Caution, Hazard};
use crate::told::tests::for_information;
use crate::tui::core::text::wrap;
use crate::tui::core::theme::Meaning;
use crate::units::{counted, figure_to};

/// Columns of the names at the left, with a space.
const NAMES: usize = 11;

impl LotSheet<'_> {
    /// The state of its sulfur dioxide: what was found, what of it is molecular, and how long it will last.
    pub(super) fn sulfur(&self, review: &LotReview) -> Vec<Line<'static>> {
        let find = |analyte| review.readings.iter().find(|reading| reading.analyte == analyte);
        let (free, total) = (find(Analyte::FreeSo2), find(Analyte::TotalSo2));
        if free.is_none() && total.is_none() && review.sulfured.is_none() {
            return Vec::new();
        }
        let mut lines = Vec::new();
        let since = review.sulfur.total_now.filter(|(_, given)| *given > 0.0);
        let since = since.map(|(now, given)| format!(" + {given:.0} given since: {now:.0}"));
        for (name, reading, since) in [("free", free, None), ("total", total, since)] {
            let last = |reading: &AnalyteReview| format!("{}, {}", self.value(reading), reading.last.at.show_date());
            let last = reading.map_or_else(|| "never tested".to_owned(), last) + &since.unwrap_or_default();
            lines.push(self.pair(name, &last, Meaning::Strong));
        }
        if let Some(free) = free {
            lines.extend(self.molecular(&review.sulfur));
            lines.extend(self.outlook(&review.sulfur));
            let (own, composite) = (free.own.len(), free.in_composite);
            let none = review.vessels.len().saturating_sub(own + composite);
            let text = format!("free of {own} by themselves, of {composite} in a composite only, of {none} never");
            lines.extend(self.on.words(&text, Meaning::Base));
        }
        if let Some(at) = review.sulfured {
            lines.push(self.pair("added", &format!("last on {}", at.show_date()), Meaning::Base));
            if free.is_some_and(|free| free.last.at.instant() < at.instant()) {
                lines.extend(self.on.words("Free SO2 was not tested since.", Meaning::Warning));
            }
        }
        lines.extend(self.on.words(&Caution::of(&[Hazard::SulfurDioxide]).words(), Meaning::Warning));
        self.on.titled("Sulfur dioxide", lines)
    }

    /// What of the free is molecular, with the model's name: the two models differ by a third.
    fn molecular(&self, sulfur: &SulfurReview) -> Vec<Line<'static>> {
        let (model, wanted) = (sulfur.model.word(), sulfur.wanted_mg_l);
        let balance = match sulfur.balance {
            None => return self.under("molecular", "not known: no pH was tested yet", Meaning::Base),
            Some(Err(error)) => return self.under("molecular", &error.to_string(), Meaning::Warning),
            Some(Ok(balance)) => balance,
        };
        let found = sulfur.molecular_mg_l.map_or_else(String::new, |found| format!("{} mg/L ", figure_to(2, found)));
        let takes = sulfur.outlook.and_then(|outlook| outlook.floor_mg_l);
        let takes = takes.map_or_else(String::new, |free| format!(", which takes {free:.0} mg/L free"));
        let text = format!("{found}by the {model} model; {wanted} is wanted{takes}");
        let mut lines = self.under("molecular", &text, Meaning::Strong);
        if let Some(beyond) = balance.beyond() {
            lines.extend(self.under("", &beyond.to_string(), Meaning::Warning));
        }
        lines
    }

    /// How much free is expected now and when it will be too little, of the lot and of the vessels in which it is least.
    fn outlook(&self, sulfur: &SulfurReview) -> Vec<Line<'static>> {
        let outlook = match (&sulfur.forecast, &sulfur.outlook) {
            (Err(error), _) => return self.under("forecast", &error.to_string(), Meaning::Warning),
            (Ok(_), None) => return Vec::new(),
            (Ok(_), Some(outlook)) => outlook,
        };
        let loss = outlook.rate_a_day * 30.0 * 100.0;
        let from = format!("{} of tests", counted(outlook.tests, "day"));
        let text = format!("{} mg/L free now; {loss:.0} % a month, by {from}", band(outlook));
        let mut lines = self.under("forecast", &text, Meaning::Base);
        if let Some((text, meaning)) = self.when_below(outlook) {
            lines.extend(self.under("", &text, meaning));
        }
        let least: Vec<String> = sulfur.least.iter().map(|told| self.least(told)).collect();
        if !least.is_empty() {
            let any_below = sulfur.least.iter().any(|(_, outlook)| outlook.is_below());
            let meaning = if any_below { Meaning::Warning } else { Meaning::Base };
            lines.extend(self.under("least in", &least.join(", "), meaning));
        }
        lines
    }

    fn least(&self, (id, outlook): &(VesselId, FreeOutlook)) -> String {
        let mark = if outlook.is_below() { format!(" {}", self.on.marks().warning) } else { String::new() };
        format!("{} {}{mark}", self.label(*id), band(outlook))
    }

    /// When the free falls below what is wanted.
    fn when_below(&self, outlook: &FreeOutlook) -> Option<(String, Meaning)> {
        outlook.floor_mg_l?;
        let now = self.on.model.now;
        let warning = self.on.marks().warning;
        let day = |at: Moment| at.show_date();
        Some(match (outlook.below, outlook.perhaps_below) {
            (Some(_), _) if outlook.is_below() => (format!("{warning} below what is wanted now"), Meaning::Over),
            (Some(below), Some(perhaps)) if perhaps.instant() <= now.instant() => {
                (format!("{warning} below what is wanted on {}, perhaps already", day(below)), Meaning::Due)
            }
            (Some(below), Some(perhaps)) => {
                (format!("below what is wanted on {}, perhaps from {} on", day(below), day(perhaps)), Meaning::Strong)
            }
            (Some(below), None) => (format!("below what is wanted on {}", day(below)), Meaning::Strong),
            (None, _) => ("above what is wanted for ten years".to_owned(), Meaning::Fine),
        })
    }

    /// How it stands to what the law allows.
    pub(super) fn limits(&self, review: &LotReview) -> Vec<Line<'static>> {
        if review.limits.is_empty() {
            return Vec::new();
        }
        let mut lines: Vec<Line<'static>> = review.limits.iter().flat_map(|limit| self.limit(limit)).collect();
        lines.extend(self.on.words(&for_information(), Meaning::Muted));
        let title = match self.on.model.state.practice.rules {
            Some(rules) => format!("Limits, by the {} rules", rules.word()),
            None => "Limits, by the rules of both sides".to_owned(),
        };
        self.on.titled(&title, lines)
    }

    /// What is known of it beside its grapes, where all of them are organic.
    pub(super) fn organic(&self, review: &LotReview) -> Vec<Line<'static>> {
        let Some(organic) = &review.organic else { return Vec::new() };
        let sentences = self.on.model.state.organic_sentences(organic);
        let lines = sentences.flat_map(|words| self.on.words(&words, Meaning::Base)).collect();
        self.on.titled("Organic", lines)
    }

    fn limit(&self, judged: &LimitReview) -> Vec<Line<'static>> {
        let read = self.on.model.state.read_as(Analyte::of_subject(judged.limit.subject));
        let judged = &judged.read(read);
        let limit = judged.limit;
        let name = match limit.subject {
            Subject::VolatileAcidity => "volatile",
            Subject::TotalSulfurDioxide => "total SO2",
        };
        let (value, judgement) = judged.last;
        let most = limit.most * 1_000.0;
        let tested = value - judged.given_since;
        let given = match judged.given_since {
            given if given > 0.0 => format!(" ({tested:.0} tested + {given:.0} given since)"),
            _ => String::new(),
        };
        let text = format!(
            "{}{value}{given} of at most {} {}: {} ({})",
            self.sign(judgement),
            most.round() / 1_000.0,
            read.unit(),
            judgement.word(),
            limit.section,
        );
        let mut lines = self.under(name, &text, meaning(judgement));
        for worse in [Judgement::Red, Judgement::Amber] {
            let of_it = judged.beyond_fine.iter().filter(|&&(.., judgement)| judgement == worse);
            let vessels: Vec<(VesselId, f64)> = of_it.map(|&(id, value, _)| (id, value)).collect();
            if !vessels.is_empty() {
                let text = format!("{}{}: {}", self.sign(worse), worse.word(), self.named(&vessels));
                lines.extend(self.under("", &text, meaning(worse)));
            }
        }
        lines
    }

    /// The sign before what is not well below its limit, for those who do not see colours.
    fn sign(&self, judgement: Judgement) -> String {
        match judgement {
            Judgement::Fine => String::new(),
            Judgement::Amber => format!("{} ", self.on.marks().warning),
            Judgement::Red => format!("{} ", self.on.marks().no),
        }
    }

    /// A name with words beside it, in as many lines as they take.
    fn under(&self, name: &str, text: &str, meaning: Meaning) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let lines = wrap(text, self.on.width.saturating_sub(NAMES), marks).into_iter().enumerate();
        lines.map(|(at, line)| self.pair(if at == 0 { name } else { "" }, &line, meaning)).collect()
    }
}

const fn meaning(judgement: Judgement) -> Meaning {
    match judgement {
        Judgement::Fine => Meaning::Fine,
        Judgement::Amber => Meaning::Due,
        Judgement::Red => Meaning::Over,
    }
}

/// A level with the band that holds nine in ten: `22 (15 to 29)`.
fn band(outlook: &FreeOutlook) -> String {
    let level = outlook.now;
    format!("{:.0} ({:.0} to {:.0})", level.free_mg_l, level.low_mg_l, level.high_mg_l)
}
