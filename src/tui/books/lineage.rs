//! The page of a lineage: what a wine is made of, where it came from and where it went as trees, and what its label could say.

use ratatui::text::{Line, Span};

use crate::cellar::core::label::Label;
use crate::cellar::core::wine::{Part, Wine};
use crate::cellar::views::books::claims::Standing;
use crate::cellar::views::books::lineage_tree::{Branch, Cut, End, LineageTree, Whose};
use crate::cellar::views::topping::evaporation::Month;
use crate::tui::core::apart::Search;
use crate::tui::core::draw::paragraph;
use crate::tui::core::finding::{self, Finding};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::{columns, fit, left, right};
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::units::{counted, litres, percent};

/// Columns of the litres at the right of a tree.
const LITRES: usize = 11;

/// A lineage on the screen.
#[derive(Clone, Debug)]
pub struct LineagePage {
    /// The vessel that was looked at.
    vessel: Label,
    /// Whose lineage is shown: that vessel's, or its lot's.
    pub whose: Whose,
    /// What the facts tell.
    pub finding: Finding<LineageTree>,
    /// From which line on it is shown.
    line: usize,
}

impl Table for LineagePage {
    const ABOUT: About = About {
        name: "Lineage and claims",
        purpose: "What a wine is made of, where it came from and where it went, as trees, each branch with its litres; below, what its \
                  label could say by published least shares, and by how many litres.\n\
                  Tab turns from the vessel to its lot.",
        opens: Opens::ByWays(&[Way {
            sense: Some(Sense::Ancestry),
            title: "Lineage and claims",
            help: "Draws where this wine came from and went as a tree, and what its label could say; tab shows its lot.",
            also: &[
                "label",
                "origin",
                "blend of",
                "claims",
                "label minimum",
                "vintage",
                "variety",
                "organic",
                "parentage",
            ],
            why_not: |model| model.why_opening().or_else(|| model.why_nothing_here()),
            open,
        }]),
    };
    const ROWS: &'static [Row<LineagePage>] = &[Row::new(
        Sense::OtherSide,
        "Vessel or lot",
        "Shows the lineage of the lot in place of the vessel's, and back.",
        LineagePage::turn,
    )
    .word(|page, _| Some(if matches!(page.whose, Whose::Lot(_)) { "the vessel" } else { "its lot" }.to_owned()))
    .unless(LineagePage::why_no_other)];
}

/// Opens the page of the chosen vessel's lineage and wishes for what it shows.
fn open(model: &mut Model) -> Wishes {
    let Some(vessel) = model.chosen_vessel().map(|vessel| vessel.label.clone()) else { return Vec::new() };
    let mut page = LineagePage { whose: Whose::Vessel(vessel.clone()), vessel, finding: Finding::default(), line: 0 };
    let wishes = page.ask(model);
    model.open(page);
    wishes
}

impl LineagePage {
    fn ask(&mut self, model: &mut Model) -> Wishes {
        let whose = self.whose.clone();
        self.finding.ask(model, Search::in_facts(move |desk, now| desk.lineage_tree(&whose, now)))
    }

    /// The other lineage of this page: the lot's beside the vessel's, and back. None where the vessel holds no lot.
    fn other(&self, model: &Model) -> Option<Whose> {
        match self.whose {
            Whose::Lot(_) => Some(Whose::Vessel(self.vessel.clone())),
            Whose::Vessel(_) => {
                let lot = model.state.vessels.by_label(self.vessel.as_str())?.lot?;
                Some(Whose::Lot(model.state.lots.get(lot).label.clone()))
            }
        }
    }

    /// Why no other lineage can be shown, if none can.
    fn why_no_other(&self, model: &Model) -> Option<String> {
        let none = self.other(model).is_none();
        none.then(|| format!("{} holds no lot whose lineage could be shown.", self.vessel))
    }

    /// Turns from the lineage of a vessel to that of its lot, and back.
    fn turn(&mut self, model: &mut Model) -> Turn {
        let Some(whose) = self.other(model) else { return Turn::stay() };
        (self.whose, self.line) = (whose, 0);
        self.finding = Finding::default();
        self.ask(model).into()
    }
}

impl Page for LineagePage {
    fn title(&self, _model: &Model) -> String {
        format!("Lineage of {}", self.whose.label())
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        lines(model, self, width)
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        self.finding.take(model, answer)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let state = &model.state;
        let lot_is_there = match &self.whose {
            Whose::Lot(label) => state.lots.find(label.as_str()).is_some(),
            Whose::Vessel(_) => true,
        };
        let vessel_is_there = state.vessels.find(self.vessel.as_str()).is_some();
        if vessel_is_there && lot_is_there { Followed::There } else { Followed::Gone(self.whose.label().to_string()) }
    }

    /// What is shown stays until the other is there.
    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask(model)
    }
}

/// The lines of a lineage for a page of so many columns.
fn lines(model: &Model, page: &LineagePage, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let wine = wine(model, &page.whose);
    let mut lines = vec![Line::styled(fit(&holds(model, page, &wine), width, marks), style(model, Meaning::Strong))];
    lines.extend(made_of(model, &wine, width));
    match page.finding.told() {
        None => {
            lines.push(Line::default());
            lines.extend(finding::working(model, width));
        }
        Some(tree) => {
            lines.extend(grown(model, "came from", &tree.back, width));
            lines.extend(grown(model, "went to", &tree.forward, width));
        }
    }
    lines.extend(claims(model, &wine, width));
    lines
}

fn style(model: &Model, meaning: Meaning) -> ratatui::style::Style {
    model.looks.theme.style(meaning)
}

fn heading(model: &Model, text: &str) -> [Line<'static>; 2] {
    [Line::default(), Line::styled(text.to_owned(), style(model, Meaning::Title))]
}

/// The wine that a lineage is of, as it is now.
fn wine(model: &Model, whose: &Whose) -> Wine {
    let state = &model.state;
    match whose {
        Whose::Vessel(label) => {
            state.vessels.by_label(label.as_str()).map(|vessel| vessel.wine.clone()).unwrap_or_default()
        }
        Whose::Lot(label) => state.lots.find(label.as_str()).map(|lot| state.wine_of_lot(lot)).unwrap_or_default(),
    }
}

fn holds(model: &Model, page: &LineagePage, wine: &Wine) -> String {
    let what = if matches!(page.whose, Whose::Lot(_)) { "lot" } else { "vessel" };
    let beside = match (&page.whose, page.other(model)) {
        (_, None) => String::new(),
        (Whose::Vessel(_), Some(lot)) => format!(" of {}; tab shows the lot", lot.label()),
        (Whose::Lot(_), Some(vessel)) => format!("; tab shows {}", vessel.label()),
    };
    if wine.is_empty() {
        return format!("The {what} holds no wine now{beside}");
    }
    format!("The {what} holds {}{beside}", litres(wine.volume()))
}

fn made_of(model: &Model, wine: &Wine, width: usize) -> Vec<Line<'static>> {
    let mut parts: Vec<Part> = wine.parts().to_vec();
    if parts.is_empty() {
        return Vec::new();
    }
    parts.sort_by_key(|part| std::cmp::Reverse(part.volume));
    let marks = model.looks.marks;
    let mut lines: Vec<Line<'static>> = heading(model, "made of").into();
    for part in parts {
        let share = part.volume.as_litres() / wine.volume().as_litres() * 100.0;
        let name = part.origin.map_or_else(
            || "added by treatments".to_owned(),
            |id| {
                let origin = &model.state.origins.get(id).0;
                format!("{}: {} {}, {}", origin.origin, origin.variety, origin.vintage, origin.appellation)
            },
        );
        let share = if share < 0.005 { "traces".to_owned() } else { percent(2, share / 100.0) };
        lines.push(Line::from(vec![
            Span::styled(left(&name, width.saturating_sub(LITRES + 9), marks), style(model, Meaning::Base)),
            Span::styled(right(&share, 9, marks), style(model, Meaning::Strong)),
            Span::styled(right(&litres(part.volume), LITRES, marks), style(model, Meaning::Muted)),
        ]));
    }
    lines
}

fn grown(model: &Model, title: &str, branches: &[Branch], width: usize) -> Vec<Line<'static>> {
    let mut lines: Vec<Line<'static>> = heading(model, title).into();
    if branches.is_empty() {
        lines.push(Line::styled("nothing that the book knows", style(model, Meaning::Muted)));
    }
    grow(model, branches, "", width, &mut lines);
    lines
}

/// Draws branches under a stem that stands at the left of each.
fn grow(model: &Model, branches: &[Branch], stem: &str, width: usize, lines: &mut Vec<Line<'static>>) {
    let marks = model.looks.marks;
    for (index, branch) in branches.iter().enumerate() {
        let last = index + 1 == branches.len();
        let (fork, below) = match (marks.ascii, last) {
            (false, false) => ("├ ", "│ "),
            (false, true) => ("└ ", "  "),
            (true, false) => ("|-", "| "),
            (true, true) => ("`-", "  "),
        };
        let stems = format!("{stem}{fork}");
        let room = width.saturating_sub(columns(&stems) + LITRES);
        let (text, meaning) = told(branch);
        lines.push(Line::from(vec![
            Span::styled(stems, style(model, Meaning::Muted)),
            Span::styled(left(&fit(&text, room, marks), room, marks), style(model, meaning)),
            Span::styled(right(&litres(branch.volume), LITRES, marks), style(model, Meaning::Strong)),
        ]));
        grow(model, &branch.branches, &format!("{stem}{below}"), width, lines);
    }
}

/// What a branch says besides its litres.
fn told(branch: &Branch) -> (String, Meaning) {
    let when = match [branch.first, branch.last].map(|at| Month::of(at).show()) {
        [first, last] if first == last => first,
        [first, last] => format!("{first} to {last}"),
    };
    match &branch.end {
        End::Origin(origin) => (format!("{origin}, into the book {when}"), Meaning::Fine),
        End::Vessels { vessel, count, lot, flow } => {
            let vessels = vessel.as_ref().map_or_else(|| counted(*count, "vessel"), ToString::to_string);
            let lot = lot.as_ref().map_or_else(String::new, |lot| format!(" of {lot}"));
            let times = if branch.times == 1 { String::new() } else { format!(" {} times", branch.times) };
            let cut = match branch.cut {
                None => "",
                Some(Cut::Above) => ", see above",
                Some(Cut::Far) => ", and further",
            };
            let flow = flow.word().replace('_', "-");
            (format!("{vessels}{lot}, {flow}{times}, {when}{cut}"), Meaning::Base)
        }
    }
}

fn claims(model: &Model, wine: &Wine, width: usize) -> Vec<Line<'static>> {
    let claims = model.state.claims(wine, model.state.practice.rules);
    if claims.is_empty() {
        return Vec::new();
    }
    let marks = model.looks.marks;
    let mut lines: Vec<Line<'static>> = heading(model, "what the label could say").into();
    for standing in &claims {
        let (mark, meaning) = if standing.held() { (marks.yes, Meaning::Fine) } else { (marks.no, Meaning::Due) };
        let beside = format!("{:>9} of {:>3} %  {}", standing.percent(), standing.least.percent, margin(standing));
        let room = width.saturating_sub(2 + columns(&beside) + 1);
        let what = format!("{}, {}", standing.what(), standing.least.rule());
        // Narrow screens tell the figures first: they are what is looked for.
        lines.push(Line::from(vec![
            Span::styled(format!("{mark} "), style(model, meaning)),
            Span::styled(left(&fit(&what, room, marks), room + 1, marks), style(model, Meaning::Base)),
            Span::styled(beside, style(model, Meaning::Strong)),
        ]));
    }
    for words in claims.iter().filter_map(Standing::organic_words) {
        lines.extend(paragraph(model, &words, width, Meaning::Base));
    }
    let notice = "Litres: what other wine may still come in on top (+), or how much of its own is wanted (-). Published \
                  least shares, for information: not legal advice.";
    lines.extend(paragraph(model, notice, width, Meaning::Muted));
    lines
}

/// The margin both ways, in a column of its own.
fn margin(standing: &Standing) -> String {
    let text = match (standing.may_come_in(), standing.still_wanted()) {
        (Some(room), _) => format!("+{}", litres(room)),
        (None, Some(wanted)) => format!("-{}", litres(wanted)),
        (None, None) => "lost".to_owned(),
    };
    format!("{text:>10}")
}
