//! A sample of a lot at the screen: what to draw of each vessel, and the composite entered once it is drawn.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{LABEL_CHARACTERS, Label};
use crate::cellar::core::state::LotId;
use crate::cellar::views::tests::drawing::SamplePlan;
use crate::told::hazard::Caution;
use crate::tui::core::asking;
use crate::tui::core::fields::{Fields, Named};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::{Volume, VolumeUnit, exact_millilitres};

/// How much sample there is to be where nobody says it: a bottle.
const USUAL: &str = "750 mL";
/// The lines that are written.
const NAMED: Named = Named {
    lines: &[(SAMPLE, "what stands on its bottle"), (SIZE, "in mL, or with its unit")],
    columns: 10,
    longest: LABEL_CHARACTERS,
};
const SAMPLE: &str = "sample";
const SIZE: &str = "in all";

/// What to draw of a lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SamplePage {
    /// The lot.
    pub lot: Label,
    /// What stands on the bottle, and how much there is to be.
    fields: Fields,
}

/// Opens the page for a lot.
pub(in crate::tui) fn open(model: &mut Model, lot: LotId) {
    let lot = model.state.lots.get(lot).label.clone();
    let sample = Label::dated(lot.as_str(), model.now, |label| model.state.samples.find(label).is_some());
    let sample = sample.map_or_else(String::new, |label| label.to_string());
    model.open(SamplePage { lot, fields: Fields::new(&NAMED, vec![sample, USUAL.to_owned()]) });
}

/// Opens the page for the lot of the vessel that is looked at.
fn open_here(model: &mut Model) -> Wishes {
    if let Some(lot) = model.chosen_vessel().and_then(|vessel| vessel.lot) {
        open(model, lot);
    }
    Vec::new()
}

impl Table for SamplePage {
    const ABOUT: About = About {
        name: "A sample of the lot",
        purpose: "Says how much to draw of each vessel of a lot, in proportion to what it holds, so that the composite is what the lot would be \
                  if it were mixed. What stands on its bottle and how much there is to be are written above; tab goes from one to the other.\n\
                  Draw it, then press enter: what was drawn of each vessel is entered as one sample, by which its tests are entered. `sheet sample` \
                  prints the same page.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Plan a sample of this lot",
            help: "Says how much to draw of each vessel of this lot for a composite, and enters it once it is drawn.",
            also: &["sample", "composite", "what to draw", "bottle for the laboratory"],
            why_not: Model::why_no_lot,
            open: open_here,
        }]),
    };
    const ROWS: &'static [Row<SamplePage>] = &[Row::new(
        Sense::OtherSide,
        "The other line",
        "Goes from what stands on the bottle to how much there is to be, and back.",
        |page: &mut SamplePage, _| page.step(),
    )
    .word(|_, _| Some("next".to_owned()))];
}

impl SamplePage {
    fn step(&mut self) -> Turn {
        self.fields.choose_next();
        Turn::stay()
    }

    /// What to draw, or why that cannot be told.
    fn plan(&self, model: &Model) -> Result<SamplePlan, String> {
        let size = Volume::parse(self.fields.text(SIZE), VolumeUnit::Millilitre).map_err(|error| error.to_string())?;
        let lot = model.state.lots.find(self.lot.as_str());
        let plan = lot.and_then(|lot| model.state.plan_sample(lot, size));
        plan.ok_or_else(|| format!("Nothing of lot {} lies in a vessel that is not held.", self.lot))
    }

    /// The facts that it was drawn so, or what is wrong, and on which line.
    fn drawn(&self, model: &Model) -> Result<Vec<What>, (&'static str, String)> {
        let plan = self.plan(model).map_err(|why| (SIZE, why))?;
        let sample = self.fields.text(SAMPLE);
        if sample.is_empty() {
            return Err((SAMPLE, "Write what stands on the bottle of the sample.".to_owned()));
        }
        let sample = Label::new(sample).map_err(|error| (SAMPLE, error.to_string()))?;
        let whats = plan.drawn(&model.state, &sample);
        for what in &whats {
            what.deed().permitted(&model.state, true).map_err(|refusal| (self.fields.chosen(), refusal.to_string()))?;
        }
        Ok(whats)
    }

    fn enter_drawn(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        match self.drawn(model) {
            Err((line, why)) => {
                self.fields.choose(line);
                model.refuse(why)
            }
            Ok(whats) if !asking::may_enter(model, &whats) => Vec::new(),
            Ok(whats) => {
                let say = format!("Drawn: the sample {}. Its tests are entered by that.", self.fields.text(SAMPLE));
                model.enter(whats, say, Then::STAY)
            }
        }
    }
}

impl Page for SamplePage {
    fn title(&self, _model: &Model) -> String {
        format!("A sample of {}: what to draw", self.lot)
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of_kind("sampled")
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let mut lines = self.fields.lines(model, width);
        lines.push(Line::default());
        let plan = match self.plan(model) {
            Ok(plan) => plan,
            Err(why) => {
                lines.extend(sheet.words(&why, Meaning::Due));
                return lines;
            }
        };
        lines.extend(sheet.words(&plan.words(), Meaning::Strong));
        if let Some(held) = plan.held_words(&model.state) {
            lines.extend(sheet.words(&held, Meaning::Held));
        }
        lines.push(Line::default());
        lines.push(sheet.line(&format!("{:<10} {:>8}  where", "vessel", "draw"), Meaning::Title));
        lines.extend(plan.draws.iter().map(|&(id, volume)| {
            let vessel = model.state.vessels.get(id);
            let place = model.state.place_of(vessel).map_or_else(String::new, |place| place.to_string());
            let label = left(vessel.label.as_str(), 10, sheet.marks());
            sheet.line(&format!("{label} {:>8}  {place}", exact_millilitres(volume)), Meaning::Base)
        }));
        lines
    }

    fn fields(&self) -> Option<&Fields> {
        Some(&self.fields)
    }

    fn fields_mut(&mut self) -> Option<&mut Fields> {
        Some(&mut self.fields)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("it is drawn".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.enter_drawn(model).into())
    }

    fn stored(&mut self, _model: &mut Model, _then: Then) -> Turn {
        Turn::back()
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_there = model.state.lots.find(self.lot.as_str()).is_some();
        if is_there { Followed::There } else { Followed::Gone(self.lot.to_string()) }
    }
}
