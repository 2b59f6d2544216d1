//! A form with what is written in it, and the facts that it comes to.

use std::borrow::Cow;

use chrono::NaiveDate;
use serde_json::Value;

use super::entry::{Body, ByVessel, Entry};
use super::form::{Field, Form, Need};
use super::offering::Offering;
use crate::cellar::core::fact::{FactError, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::views::floor::which::vessels_said;

/// A form with what is written in it.
#[derive(Clone, Debug)]
pub struct Filled {
    form: &'static Form,
    /// A text a field.
    texts: Vec<String>,
    /// Which texts are only offered.
    offered: Vec<bool>,
    /// Whether a label that nothing is called by is left to the cellar, which knows what came later.
    names_what_comes: bool,
    /// The day of today, by which days are read as people write them; none where they are written as dates.
    today: Option<NaiveDate>,
    /// The fact that it corrects, field by field, and what was written of each: what nobody writes anew stays as it is.
    was: Option<(Body, Vec<String>)>,
}

/// Why a form cannot be taken, and at which field that is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The field by its place; none where it is of the whole.
    pub field: Option<usize>,
    /// A sentence.
    pub why: String,
    /// Whether something is only not written yet.
    pub is_missing: bool,
}

impl PartialEq for Filled {
    fn eq(&self, other: &Filled) -> bool {
        self.form.kind == other.form.kind && self.texts == other.texts && self.was == other.was
    }
}

impl Filled {
    /// A form in which the usual values stand.
    #[must_use]
    pub fn new(form: &'static Form) -> Filled {
        let usual = |field: &Field| match field.need {
            Need::Usual(usual) => usual.to_owned(),
            _ => String::new(),
        };
        let texts: Vec<String> = form.fields.iter().map(usual).collect();
        let offered = texts.iter().map(|text| !text.is_empty()).collect();
        Filled { form, texts, offered, names_what_comes: false, today: None, was: None }
    }

    /// The form of a fact, with what it says; none where its fields cannot be read.
    #[must_use]
    pub fn of(form: &'static Form, what: &What) -> Option<Filled> {
        let body = what.body().ok()?;
        let text = |field: &Field| field.entry.said_in(field.key, &body);
        let texts: Vec<String> = form.fields.iter().map(text).collect();
        // What stands there gives way to what is typed.
        let offered = texts.iter().map(|text| !text.is_empty()).collect();
        Some(Filled {
            form,
            offered,
            texts: texts.clone(),
            names_what_comes: false,
            today: None,
            was: Some((body, texts)),
        })
    }

    /// The same, written today.
    #[must_use]
    pub fn on(self, today: NaiveDate) -> Filled {
        Filled { today: Some(today), ..self }
    }

    /// The same, where a label that nothing is called by is left to the cellar to refuse: it knows what came later than the moment that is
    /// meant.
    #[must_use]
    pub fn leaving_labels(self) -> Filled {
        Filled { names_what_comes: true, ..self }
    }

    /// What is written in a field as it is read: of a day its date.
    fn meant<'a>(&self, entry: Entry, text: &'a str) -> Result<Cow<'a, str>, String> {
        self.today.map_or(Ok(Cow::Borrowed(text)), |today| entry.dated(text, today))
    }

    /// The form.
    #[must_use]
    pub const fn form(&self) -> &'static Form {
        self.form
    }

    /// What is written in a field.
    #[must_use]
    pub fn text(&self, field: usize) -> &str {
        self.texts.get(field).map_or("", String::as_str)
    }

    /// The same, to be written on.
    pub fn text_mut(&mut self, field: usize) -> Option<&mut String> {
        self.texts.get_mut(field)
    }

    /// Whether what stands in a field is only offered.
    #[must_use]
    pub fn is_offered(&self, field: usize) -> bool {
        self.offered.get(field).copied().unwrap_or(false)
    }

    /// Something was written in a field: what stands there is no offer.
    pub fn rewritten(&mut self, field: usize) {
        if let Some(offered) = self.offered.get_mut(field) {
            *offered = false;
        }
    }

    /// Offers a text in a field in which nothing is written.
    pub fn offer(&mut self, field: usize, text: &str) {
        if let Some((stands, offered)) = self.texts.get_mut(field).zip(self.offered.get_mut(field))
            && (stands.is_empty() || *offered)
        {
            text.clone_into(stands);
            *offered = !text.is_empty();
        }
    }

    /// Writes a field.
    pub fn write(&mut self, field: usize, text: &str) {
        if let Some(stands) = self.texts.get_mut(field) {
            text.clone_into(stands);
        }
        self.rewritten(field);
    }

    /// Goes to the next value of a field that has several, or to the one before.
    pub fn turn(&mut self, field: usize, by: isize) {
        let Some(values) = self.form.fields.get(field).map(|field| field.entry.values()) else { return };
        let stands = self.text(field).replace(' ', "_");
        let at = values.iter().position(|value| *value == stands).and_then(|at| isize::try_from(at).ok());
        let count = isize::try_from(values.len()).unwrap_or(1).max(1);
        let next = at.map_or(if by > 0 { 0 } else { count - 1 }, |at| (at + by).rem_euclid(count));
        if let Some(value) = usize::try_from(next).ok().and_then(|next| values.get(next)) {
            self.write(field, &value.replace('_', " "));
        }
    }

    /// What is wrong with a field by itself, if anything is.
    #[must_use]
    pub fn check(&self, at: usize, state: &State) -> Option<Mistake> {
        let field = self.form.fields.get(at)?;
        let text = self.text(at).trim();
        if text.is_empty() || matches!(field.entry, Entry::Vessels) || !field.entry.is_one_field() {
            return None;
        }
        let read = self.meant(field.entry, text).and_then(|text| field.entry.read(&text, state));
        read.err().map(|why| Mistake::at(at, why))
    }

    /// The facts that it comes to: one, or one a vessel where several are named.
    pub fn whats(&self, state: &State) -> Result<Vec<What>, Mistake> {
        let mut body = self.was.as_ref().map_or_else(Body::new, |(body, _)| body.clone());
        let (mut besides, mut vessels): (Vec<What>, Option<(&'static str, Vec<Label>)>) = (Vec::new(), None);
        let mut of_each: Vec<(usize, &ByVessel, &str)> = Vec::new();
        for (at, field) in self.form.filled_in() {
            let text = self.text(at).trim();
            if self.was.as_ref().is_some_and(|(_, texts)| texts.get(at).is_some_and(|was| was == text)) {
                continue;
            }
            if text.is_empty() {
                let found = match field.need {
                    Need::Must | Need::Usual(_) => return Err(Mistake::missing(at, field)),
                    Need::Offered(offering) => match self.found(offering, state, &body) {
                        None if !offering.may_be_left() => return Err(Mistake::missing(at, field)),
                        found => found,
                    },
                    Need::May | Need::Again | Need::Told => None,
                };
                match found {
                    Some(found) => body.insert(field.key.to_owned(), Value::from(found)),
                    None => body.shift_remove(field.key),
                };
            } else if matches!(field.entry, Entry::Vessels) && self.was.is_none() {
                let named = vessels_said(state, text).map_err(|why| Mistake::at(at, why))?;
                vessels = Some((field.key, named));
            } else if let Entry::ByVessel(own) = field.entry {
                of_each.push((at, own, text));
            } else if let Entry::Beside(beside) = field.entry {
                let read = (beside.read)(text, &body, state);
                besides.extend(read.map_err(|why| Mistake::at(at, why))?);
            } else {
                let mistake = |why| Mistake::at(at, why);
                let text = self.meant(field.entry, text).map_err(mistake)?;
                if !self.names_what_comes || !field.entry.names_a_thing() {
                    field.entry.write((field.key, &text), &mut body, state).map_err(mistake)?;
                } else {
                    let label = Label::new(&text).map_err(|error| Mistake::at(at, error.to_string()))?;
                    body.insert(field.key.to_owned(), Value::from(label.as_str()));
                }
            }
        }
        let then = self.was.is_none().then_some(state);
        let write_each = |body: &mut Body| {
            let write = |&(at, own, text): &(usize, &ByVessel, &str)| {
                (own.write)(text, body, then).map_err(|why| Mistake::at(at, why))
            };
            of_each.iter().try_for_each(write)
        };
        let Some((key, vessels)) = vessels else {
            write_each(&mut body)?;
            besides.push(self.what(&body)?);
            return Ok(besides);
        };
        for vessel in vessels {
            let mut body = body.clone();
            body.insert(key.to_owned(), Value::from(vessel.as_str()));
            write_each(&mut body)?;
            besides.push(self.what(&body)?);
        }
        Ok(besides)
    }

    /// What the cellar offers for a field in which nothing is written. Of several vessels it offers what it offers for the first.
    fn found(&self, offering: Offering, state: &State, body: &Body) -> Option<String> {
        let mut written = body.clone();
        let vessels = self.form.filled_in().find(|(_, field)| matches!(field.entry, Entry::Vessels));
        if let Some((of, field)) = vessels
            && let Ok(named) = vessels_said(state, self.text(of))
            && let Some(first) = named.first()
        {
            written.insert(field.key.to_owned(), Value::from(first.as_str()));
        }
        offering.find(state, &written)
    }

    /// Offers what the cellar offers for fields in which nothing is written, beside what is written in the others.
    pub fn offer_of_cellar(&mut self, state: &State) {
        for (at, field) in self.form.filled_in() {
            let Need::Offered(offering) = field.need else { continue };
            if !self.text(at).is_empty() && !self.is_offered(at) {
                continue;
            }
            let mut body = Body::new();
            for (other, it) in self.form.filled_in().filter(|(_, it)| it.entry.is_one_field()) {
                body.insert(it.key.to_owned(), Value::from(self.text(other).trim()));
            }
            let found = self.found(offering, state, &body).unwrap_or_default();
            self.offer(at, &found);
        }
    }

    /// The fact of some fields.
    fn what(&self, body: &Body) -> Result<What, Mistake> {
        let of_whole = |why: String| Mistake { field: None, why, is_missing: false };
        let text = serde_json::to_vec(body).map_err(|error| of_whole(error.to_string()))?;
        What::from_body(self.form.kind, &text).map_err(|error| match error {
            // Whoever fills in a form knows what it is a form of.
            FactError::Field { problem, .. } => of_whole(format!("{problem}.")),
            error => of_whole(error.to_string()),
        })
    }
}

impl Mistake {
    fn at(field: usize, why: String) -> Mistake {
        Mistake { field: Some(field), why, is_missing: false }
    }

    fn missing(at: usize, field: &Field) -> Mistake {
        let hint = if field.hint.is_empty() { String::new() } else { format!(": {}", field.hint) };
        Mistake { field: Some(at), why: format!("Write the {}{hint}.", field.name), is_missing: true }
    }
}

#[cfg(test)]
mod written {
    use super::*;
    use crate::cellar::jobs::books::loss::{LossCause, Lost};
    use crate::forms::{KEPT_SINCE, LAID_AWAY, LOST, forms};
    use crate::units::Volume;

    fn lost(litres: u64) -> What {
        let vessel = Label::new("0417").unwrap();
        What::Lost(Lost { vessel, volume: Volume::from_ul(litres), cause: LossCause::Leak })
    }

    #[test]
    fn what_nobody_writes_anew_stays_to_the_microlitre() {
        let was = lost(2_512_345);
        let mut filled = Filled::of(&LOST, &was).unwrap();
        assert_eq!((filled.text(1), filled.text(2)), ("2.51 L", "leak"));
        assert_eq!(filled.whats(&State::default()).unwrap(), std::slice::from_ref(&was));
        filled.write(2, "spill");
        let What::Lost(corrected) = &filled.whats(&State::default()).unwrap()[0] else { panic!() };
        assert_eq!((corrected.volume.as_ul(), corrected.cause), (2_512_345, LossCause::Spill));
        filled.write(1, "3");
        let What::Lost(corrected) = &filled.whats(&State::default()).unwrap()[0] else { panic!() };
        assert_eq!(corrected.volume, Volume::from_litres(3));
    }

    #[test]
    fn what_is_missing_is_named_and_is_no_error() {
        let filled = Filled::new(&LOST);
        let mistake = filled.whats(&State::default()).unwrap_err();
        assert_eq!((mistake.field, mistake.is_missing), (Some(0), true));
        assert_eq!(filled.text(2), "spill");
        assert!(filled.is_offered(2));
    }

    #[test]
    fn a_word_is_begun_and_turned_to() {
        let mut filled = Filled::new(&LOST);
        filled.turn(2, 1);
        assert_eq!(filled.text(2), "lees");
        filled.turn(2, -1);
        filled.turn(2, -1);
        assert_eq!(filled.text(2), "other");
        filled.write(2, "sp");
        assert_eq!(filled.check(2, &State::default()), None);
        filled.write(2, "theft");
        assert!(filled.check(2, &State::default()).unwrap().why.starts_with("'theft' is none of them."));
    }

    #[test]
    fn a_day_is_written_as_people_write_it() {
        let today = NaiveDate::from_ymd_opt(2026, 11, 28);
        let read = |form, field: usize, text: &str| {
            let mut filled = Filled::new(form).on(today.unwrap());
            filled.write(field, text);
            filled.check(field, &State::default()).map(|mistake| mistake.why)
        };
        let topped = KEPT_SINCE.fields.iter().position(|field| field.key == "topped_on").unwrap();
        for text in ["yesterday", "20 Nov", "tuesday", "20/11/2026", "2026-11-20"] {
            assert_eq!(read(&KEPT_SINCE, topped, text), None, "{text}");
        }
        assert!(read(&KEPT_SINCE, topped, "3/4").unwrap().starts_with("'3/4' could be 3 Apr 2026 or 4 Mar 2026."));
        assert!(read(&KEPT_SINCE, topped, "soon").unwrap().starts_with("'soon' is no day."));
        let release = LAID_AWAY.fields.iter().position(|field| field.key == "release").unwrap();
        assert_eq!(read(&LAID_AWAY, release, "1 May 2029"), None);
        assert!(read(&LAID_AWAY, release, "1 May").unwrap().contains("says no year"));
    }

    #[test]
    fn a_label_may_be_left_to_the_cellar() {
        let mut filled = Filled::new(&LOST);
        filled.write(0, "0417");
        filled.write(1, "2");
        assert!(filled.whats(&State::default()).unwrap_err().why.starts_with("No vessel is called '0417'."));
        assert_eq!(filled.leaving_labels().whats(&State::default()).unwrap().len(), 1);
    }

    #[test]
    fn every_form_says_only_fields_that_it_has() {
        for form in forms() {
            for part in form.says.split('{').skip(1) {
                let key = part.split(['}', '=', '!']).next().unwrap();
                assert!(form.fields.iter().any(|field| field.key == key), "{}: {key}", form.kind);
            }
            let kinds = forms().filter(|it| it.kind == form.kind).count();
            assert_eq!(kinds, 1, "{}", form.kind);
            assert!(crate::cellar::core::fact::KINDS.contains(&form.kind), "{}", form.kind);
        }
    }
}
