//! The line that is written about bottles, with what it takes.

use ratatui::text::Line;

use super::{bin_at, spot_of};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::bins::Bin;
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTasted;
use crate::cellar::jobs::bottles::bottling::said::{CAUSES, Said, SaidError};
use crate::tui::core::asking;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::{fit, wrap};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::counted;

/// What is done with bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BinAct {
    /// They are laid away.
    Lay,
    /// They are carried to another bin.
    Carry,
    /// They go out.
    Out,
    /// Their release is set.
    Release,
    /// One is tasted.
    Taste,
}

/// A line that is being written about the bottles of a bin.
#[derive(Clone, Debug, PartialEq)]
pub struct BinLine {
    /// What is done.
    act: BinAct,
    /// At which place; none where no bin is there.
    place: Option<Label>,
    /// What is written so far.
    text: String,
}

impl Table for BinLine {
    const ABOUT: About = About {
        name: "A line about bottles",
        purpose: "Takes in one line what is done with bottles of the bin: how many, which, where to, why. The example under it says \
                  what may be written.",
        opens: Opens::From("a key of the map of the bins begins it"),
    };
    const ROWS: &'static [Row<BinLine>] = &[];
}

impl BinAct {
    /// What is asked.
    const fn question(self) -> &'static str {
        match self {
            BinAct::Lay => "Lay away",
            BinAct::Carry => "Carry",
            BinAct::Out => "Out",
            BinAct::Release => "Release",
            BinAct::Taste => "Taste",
        }
    }

    /// What may be written.
    fn takes(self) -> String {
        match self {
            BinAct::Lay => {
                "which, how many, until when: L2601, 600, 1 May 2029. All if no number; a place if not here.".to_owned()
            }
            BinAct::Carry => "where to, how many, which: A-03, 300 or pallet 12, 300. All if no number.".to_owned(),
            BinAct::Out => {
                let causes: Vec<String> = CAUSES.iter().map(|(key, cause)| format!("{key} {cause}")).collect();
                format!("how many, why, to whom: 60 sold, The shop. Or {}.", causes.join(", "))
            }
            BinAct::Release => {
                "from when on they may go, like 1 May 2029; with a lot code or a number only those.".to_owned()
            }
            BinAct::Taste => {
                "which if several lie here, score first, then words or keys: 15.5 pl ta. Opens one bottle.".to_owned()
            }
        }
    }
}

impl BinLine {
    pub(super) fn new(act: BinAct, place: Option<Label>) -> BinLine {
        BinLine { act, place, text: String::new() }
    }

    /// Stores what the line says.
    fn take(&self, model: &mut Model) -> Wishes {
        if self.text.trim().is_empty() && self.act != BinAct::Lay {
            return model.refuse("Nothing is written yet. Write it, or press esc to go back.");
        }
        let maps = model.state.bin_maps();
        let spot = self.place.as_ref().and_then(|place| spot_of(&maps, place));
        match self.deed(&model.state, spot.and_then(|spot| bin_at(&maps, spot))) {
            Ok(deed) => {
                let new_place = deed.to.as_ref().and_then(|place| model.state.new_place(place));
                let questions = model.state.questions(&deed.whats, model.now);
                if !asking::may_do(model, &deed.whats, new_place.into_iter().chain(questions).collect()) {
                    return Vec::new();
                }
                model.enter(deed.whats, deed.say, Then::STAY)
            }
            Err(error) => model.refuse(error.to_string()),
        }
    }

    /// The facts that the line makes.
    fn deed(&self, state: &State, bin: Option<&Bin>) -> Result<Deed, SaidError> {
        let said = Said::read(&self.text, state);
        let here = || bin.ok_or(SaidError::Nothing("any bin".to_owned()));
        let of = |run: &Label, code: &Option<Label>| code.as_ref().unwrap_or(run).to_string();
        Ok(match self.act {
            BinAct::Lay => {
                let laid = said?.lay(state, bin.map(|bin| &bin.place))?;
                let (what, to) = (of(&laid.run, &laid.lot_code), laid.place.clone());
                let say = format!("{} of {what} laid away in {to}.", counted(laid.bottles, "bottle"));
                Deed { whats: vec![What::LaidAway(Box::new(laid))], say, to: Some(to) }
            }
            BinAct::Carry => {
                let laid = said?.carry(state, here()?)?;
                let (what, to) = (of(&laid.run, &laid.lot_code), laid.place.clone());
                let say = format!("{} of {what} carried to {to}.", counted(laid.bottles, "bottle"));
                Deed { whats: vec![What::LaidAway(Box::new(laid))], say, to: Some(to) }
            }
            BinAct::Out => {
                let out = said?.out(state, here()?)?;
                let what = of(&out.run, &out.lot_code);
                let say = format!("{} of {what} out: {}.", counted(out.bottles, "bottle"), out.why);
                Deed { whats: vec![What::BottlesOut(Box::new(out))], say, to: None }
            }
            BinAct::Release => {
                let laid = said?.release(state, here()?)?;
                let many = counted(laid.iter().map(|laid| laid.bottles).sum::<u32>(), "bottle");
                let day = laid.first().and_then(|laid| laid.release).map(Day::show).unwrap_or_default();
                let whats = laid.into_iter().map(|laid| What::LaidAway(Box::new(laid))).collect();
                Deed { whats, say: format!("{many} may go from {day} on."), to: None }
            }
            BinAct::Taste => {
                let tasted: BottleTasted = state.bottle_taste(&self.text, here()?)?;
                let say = format!("{} tasted; the bottle is out.", of(&tasted.run, &tasted.lot_code));
                Deed { whats: vec![What::BottleTasted(Box::new(tasted))], say, to: None }
            }
        })
    }
}

/// What a line does.
struct Deed {
    whats: Vec<What>,
    say: String,
    /// Where bottles come to.
    to: Option<Label>,
}

impl Page for BinLine {
    fn title(&self, _model: &Model) -> String {
        self.act.question().to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let theme = model.looks.theme;
        let marks = model.looks.marks;
        let place =
            self.place.as_ref().map_or_else(String::new, |place| format!(" {}", fit(place.as_str(), 24, marks)));
        let question = format!(" {}{place}: ", self.act.question());
        let hint = wrap(&self.act.takes(), width.saturating_sub(3), marks).into_iter();
        let mut lines = vec![model.question_line(&question, &self.text, width)];
        lines.extend(hint.map(|line| Line::styled(format!("   {line}"), theme.style(Meaning::Muted))));
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.take(model).into())
    }

    /// What is written was meant for its place, and for no other.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let Some(place) = &self.place else { return Followed::There };
        if spot_of(&model.state.bin_maps(), place).is_some() {
            return Followed::There;
        }
        Followed::Gone(format!("What was written of {place}"))
    }
}
