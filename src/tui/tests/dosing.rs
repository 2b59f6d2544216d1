//! Sulfur dioxide for a lot at the screen: the doses of its barrels before they are walked.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::LotId;
use crate::cellar::views::tests::dosing::{Dosed, Dosing, DosingAsked, DosingStop, Goal, LeftOut, Per};
use crate::reckon::limits::Judgement;
use crate::reckon::sulfur::{Form, Solution, USUAL_BOUND_SHARE};
use crate::told::hazard::{Caution, Hazard};
use crate::told::tests::bound_at_once;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::over_plan::{Listed, OverPlan};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::{fit, left};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::work_pages::names;
use crate::tui::floor::works;
use crate::units::{millilitres, weighed};

/// The forms that can be chosen.
const FORMS: [Form; 3] = [Form::Solution(Solution::USUAL), Form::Powder, Form::Gas];

/// The doses of a lot's barrels, before they are a work.
#[derive(Clone, Debug, PartialEq)]
pub struct DosingPage {
    /// The lot.
    pub lot: LotId,
    /// The held vessel that is to be cured, and nothing else of the lot.
    pub held: Option<Label>,
    /// Which form is chosen, and from where on the page is shown.
    pub stands: OverPlan,
    /// The doses in that form, or why there are none.
    pub plan: Result<Dosing, Refusal>,
}

impl DosingPage {
    /// Whether anything is to be given.
    fn gives(&self) -> bool {
        self.plan.as_ref().is_ok_and(|plan| !plan.stops.is_empty())
    }

    /// The doses of a lot in the form that stands at a place of the list: to the house's molecular, each barrel for itself.
    #[must_use]
    pub fn new(model: &Model, lot: LotId, held: Option<Label>, chosen: usize) -> DosingPage {
        let named = held.as_ref().and_then(|label| model.state.vessels.find(label.as_str()));
        let of = match named {
            Some(id) => Dosed { vessels: vec![id], ..Dosed::default() },
            None => Dosed { lot: Some(lot), ..Dosed::default() },
        };
        let asked = DosingAsked {
            of,
            goal: Goal::Molecular(model.state.practice.molecular_so2_mg_l),
            form: FORMS[chosen.min(FORMS.len() - 1)],
            per: Per::Barrel,
            bound_share: USUAL_BOUND_SHARE,
        };
        let plan = model.state.plan_dosing(asked, model.now);
        DosingPage { lot, held, stands: OverPlan::at(chosen), plan }
    }

    /// The doses of a lot, or of the held vessel under the cursor: whoever stands at one means to cure it.
    #[must_use]
    pub fn here(model: &Model, lot: LotId) -> DosingPage {
        DosingPage::new(model, lot, held_here(model), 0)
    }

    /// The same doses in another form.
    #[must_use]
    pub fn in_form(&self, model: &Model, chosen: usize) -> DosingPage {
        DosingPage::new(model, self.lot, self.held.clone(), chosen)
    }
}

impl Table for DosingPage {
    const ABOUT: About = About {
        name: "Sulfur dioxide for a lot",
        purpose: "Plans what each barrel of a lot, or a held vessel alone, is given of sulfur dioxide by its last test, in the form that is \
                  chosen: the solution, the salt weighed, the gas. Above stands what is to be measured out in all, and what limits \
                  the total then comes to.\n\
                  Enter begins the work, which is then walked barrel by barrel; esc goes back to the works. Sulfur dioxide is a \
                  poison: mind the caution on the page, local codes and licensed practice.",
        opens: Opens::From("at a vessel of the lot, d on the floor lists it"),
    };
    const ROWS: &'static [Row<DosingPage>] = &[];
}

impl Page for DosingPage {
    fn title(&self, model: &Model) -> String {
        called(model, self.lot, self.held.as_ref())
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of(&[Hazard::SulfurDioxide])
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        lines(model, self, width, height)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.stands.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.stands.line)
    }

    /// Up and down go through the forms; by half a screen one goes down to the doses.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if let Some(to) = self.stands.go(model, go, FORMS.len(), last) {
            *self = self.in_form(model, to);
        }
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        self.gives().then(|| "begin".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(begin(model, self).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let label = &before.state.lots.get(self.lot).label;
        let Some(lot) = model.state.lots.find(label.as_str()) else { return Followed::Gone(label.to_string()) };
        *self =
            DosingPage { stands: self.stands, ..DosingPage::new(model, lot, self.held.clone(), self.stands.chosen) };
        Followed::There
    }
}

/// Begins the work of the doses.
fn begin(model: &mut Model, page: &DosingPage) -> Wishes {
    let of = page.held.as_ref().unwrap_or(&model.state.lots.get(page.lot).label);
    let Some(work) = model.state.new_work_label(&format!("sulfur {of}"), model.now) else {
        return model.refuse("This lot was treated too often today to name another work.");
    };
    let set = page.plan.clone().and_then(|plan| plan.begin(&model.state, work));
    works::begin(model, set)
}

/// The forms, what is to be weighed out, and the dose of each barrel.
fn lines(model: &Model, page: &DosingPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let said = match &page.plan {
        Ok(plan) => planned(model, plan, width),
        Err(refusal) => paragraph(model, &refusal.to_string(), width, Meaning::Due),
    };
    let words = |at: usize| form_words(FORMS[at]);
    let list = Listed { above: Vec::new(), lines: FORMS.len(), least: FORMS.len(), words };
    page.stands.lines(model, (width, height), list, said)
}

fn form_words(form: Form) -> String {
    match form {
        Form::Solution(solution) => format!("as a {} % solution of potassium metabisulfite", solution.percent()),
        Form::Powder => "as potassium metabisulfite, weighed".to_owned(),
        Form::Gas | Form::Sulfur => "as sulfur dioxide from the bottle".to_owned(),
    }
}

fn planned(model: &Model, plan: &Dosing, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let (gives, goal) = (!plan.stops.is_empty(), plan.asked.goal.words(plan.model));
    let vessels = plan.counted(&model.state);
    let in_all = if gives {
        format!("{vessels} {goal}: {} in all", whole(plan))
    } else {
        format!("{goal}: nothing is to be given")
    };
    say(&in_all, Meaning::Strong);
    if gives {
        let pressing = plan.highest_total().map(|(.., judgement)| judgement);
        let meaning = match pressing {
            Some(Judgement::Red) => Meaning::Over,
            Some(Judgement::Amber) | None => Meaning::Due,
            Some(Judgement::Fine) => Meaning::Base,
        };
        say(&plan.total_words(&model.state, model.now), meaning);
        plan.organic_words(&model.state).iter().for_each(|words| say(words, Meaning::Due));
    }
    for (why, vessels) in plan.left_out_by_reason() {
        let meaning = if matches!(why, LeftOut::Held(_)) { Meaning::Held } else { Meaning::Muted };
        say(&format!("left out, {}: {}", why.reason(), names(&model.state, &vessels)), meaning);
    }
    if let Some(beyond) = plan.beyond() {
        say(&beyond.to_string(), Meaning::Due);
    }
    if !gives {
        return lines;
    }
    say(&bound_at_once(plan.asked.bound_share), Meaning::Muted);
    lines.push(Line::default());
    let heading =
        format!("{:<9} {:>7}  {:<20} {:>4} {:>6}  {}", "barrel", "dose", "free, tested", "now", "wanted", "pH");
    lines.push(Line::styled(fit(&heading, width, model.looks.marks), model.looks.theme.style(Meaning::Title)));
    let style = model.looks.theme.style(Meaning::Base);
    lines.extend(
        plan.stops.iter().map(|stop| Line::styled(fit(&stop_line(model, stop), width, model.looks.marks), style)),
    );
    lines
}

/// What is to be measured or weighed in all.
fn whole(plan: &Dosing) -> String {
    let grams = weighed(plan.amount);
    plan.solution.map_or_else(|| grams.clone(), |volume| format!("{} ({grams})", millilitres(volume)))
}

/// A barrel with its dose, its test with whose it is and how old, what is free now by forecast, what is wanted, and the pH,
/// where it is of another test with that.
fn stop_line(model: &Model, stop: &DosingStop) -> String {
    let label = left(model.state.vessels.get(stop.vessel).label.as_str(), 9, model.looks.marks);
    let dose = stop.solution.map_or_else(|| weighed(stop.amount), millilitres);
    let tested =
        stop.known.free.map_or_else(String::new, |free| format!("{:.0} {}", free.value, free.test_words(model.now)));
    let whole = |value: Option<f64>| value.map_or_else(String::new, |value| format!("{value:.0}"));
    let (now, wanted) = (whole(stop.known.free_now.map(|now| now.free_mg_l)), whole(stop.wanted_free_mg_l));
    let ph = stop.known.ph.map_or_else(String::new, |ph| {
        let same = stop.known.free.is_some_and(|free| free.test_words(model.now) == ph.test_words(model.now));
        if same { ph.value.to_string() } else { format!("{} {}", ph.value, ph.test_words(model.now)) }
    });
    format!("{label} {dose:>7}  {tested:<20} {now:>4} {wanted:>6}  {ph}")
}

/// The vessel under the cursor, where it is held.
pub(in crate::tui) fn held_here(model: &Model) -> Option<Label> {
    model.chosen_vessel().filter(|vessel| vessel.held.is_some()).map(|vessel| vessel.label.clone())
}

/// What is dosed, in words: a lot, or a held vessel of it alone.
pub(in crate::tui) fn called(model: &Model, lot: LotId, held: Option<&Label>) -> String {
    match held {
        Some(held) => format!("Sulfur dioxide for {held}, which is held"),
        None => format!("Sulfur dioxide for {}", model.state.lots.get(lot).label),
    }
}
