//! The page of oak judged: what coopers, forests, toasts, seasonings and fills did within lots; one quality at a time. It is what `sheet oak` prints of that
//! quality. The facts are gone through once, apart; another quality is judged of the same gathering.

use std::sync::Arc;

use ratatui::text::Line;

use crate::cellar::views::wood::oak::{Asked, Oak};
use crate::reckon::oak::{FACTORS, Factor};
use crate::sheets::core::document::Document;
use crate::sheets::wood::oak::page;
use crate::told::oak::heading;
use crate::tui::core::apart::Search;
use crate::tui::core::finding::{self, Finding};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::printed;
use crate::tui::core::sense::Sense;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;

/// What was gathered of the facts, and a quality judged of it.
#[derive(Debug)]
struct Told {
    oak: Arc<Oak>,
    document: Document,
}

/// What the oak did, on the screen.
#[derive(Debug)]
pub struct OakPage {
    /// Which of the qualities.
    factor: usize,
    /// What the facts tell.
    finding: Finding<Told>,
    /// From which line on it is shown.
    line: usize,
}

impl Table for OakPage {
    const ABOUT: About = About {
        name: "What the oak did",
        purpose: "Which cooper, forest, toast, seasoning or fill did better within the same lots, by all scores of barrels: what is told, how \
                  sure, what cannot be told, and what it would take to know; beside it evaporation, leaks, how the wine kept, and prices.\n\
                  Tab turns to the next quality. `sheet oak` prints all, to order next year's wood by.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "What the oak did",
            help: "Holds coopers, forests, toasts, seasonings and fills against each other by the scores of their barrels within lots, \
                   with evaporation and leaks beside them.",
            also: &["cooper", "forest", "toast", "seasoning", "new wood", "order barrels", "compare barrels", "scores"],
            why_not: Model::why_opening,
            open,
        }]),
    };
    const ROWS: &'static [Row<OakPage>] = &[Row::new(
        Sense::OtherSide,
        "The next quality",
        "Turns from coopers to forests, toasts, seasonings and fills.",
        OakPage::turn_on,
    )
    .word(|page, _| Some(heading(Factor::ALL[(page.factor + 1) % FACTORS]).to_lowercase()))];
}

/// Opens the page at the coopers and wishes for what it shows.
fn open(model: &mut Model) -> Wishes {
    let mut page = OakPage { factor: 0, finding: Finding::default(), line: 0 };
    let wishes = page.ask(model, None);
    model.open(page);
    wishes
}

impl OakPage {
    /// Has the quality judged, of what was gathered where that is at hand.
    fn ask(&mut self, model: &mut Model, gathered: Option<Arc<Oak>>) -> Wishes {
        let factor = Factor::ALL[self.factor];
        let search = Search::of(move |apart| {
            let oak = if let Some(oak) = &gathered {
                Arc::clone(oak)
            } else {
                let found = apart.desk().and_then(|desk| desk.oak(apart.now(), Asked::default()));
                Arc::new(found.map_err(|error| error.to_string())?)
            };
            let document = page(&oak.judged(factor));
            Ok(Told { oak, document })
        });
        self.finding.ask(model, search)
    }

    fn turn_on(&mut self, model: &mut Model) -> Turn {
        let gathered = self.finding.told().map(|told| Arc::clone(&told.oak));
        (self.factor, self.line, self.finding) = ((self.factor + 1) % FACTORS, 0, Finding::default());
        self.ask(model, gathered).into()
    }
}

impl Page for OakPage {
    fn title(&self, _model: &Model) -> String {
        format!("What the oak did, {}", heading(Factor::ALL[self.factor]).to_lowercase())
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let told = self.finding.told();
        told.map_or_else(|| finding::working(model, width), |told| printed::lines(model, &told.document, width))
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

    /// What is shown stays until the other is there.
    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask(model, None)
    }
}
