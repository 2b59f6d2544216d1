//! The line on which it is said for whom and for which day something is entered: `Ana, 27 Nov`.

use chrono::NaiveDate;
use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::when::{WhenError, day, weekday};
use crate::tui::core::behalf::Behalf;
use crate::tui::core::draw::paragraph;
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn};
use crate::tui::core::theme::Meaning;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;
use crate::units::DateForm;

/// No name with a day is longer.
const LONGEST: usize = 60;
/// No day takes more words: `27 Nov 2026`.
const DAY_WORDS: usize = 3;

/// The line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ForAnother {
    /// What is written.
    text: String,
    /// For whom and which day the desk was asked what stands in the log of that day.
    asked: Option<(Label, NaiveDate)>,
}

impl Table for ForAnother {
    const ABOUT: About = About {
        name: "Entering for a day that is over",
        purpose: "Says for whom and for which day something is entered, from a sheet of paper the morning after: a name and a day, like Ana, 27 Nov or \
                  Ana yesterday. A day alone is your own; a name alone is today.\n\
                  From then on every act carries that name and that day, in the order in which they are entered, until you enter as of now again or leave \
                  the program. The head of every page says so. Walk the round or the work as its sheet was printed: one key where it was as expected.",
        opens: Opens::From("the list of the floor or the find box opens it"),
    };
    const ROWS: &'static [Row<ForAnother>] = &[];
}

/// Opens the line.
pub(super) fn open(model: &mut Model) {
    model.open(ForAnother::default());
}

/// For whom, where a name is said, and for which day.
fn read(text: &str, today: NaiveDate) -> Result<(Option<Label>, NaiveDate), String> {
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    if words.is_empty() {
        return Err("Write a name and a day, like Ana, 27 Nov.".to_owned());
    }
    let most = words.len().min(DAY_WORDS);
    // A word before a day may be a name or a day of the week, so the fewest words that make a day are it.
    let found = (1..=most).find_map(|count| {
        let (name, said) = words.split_at(words.len() - count);
        match name {
            [name @ .., last] if last.eq_ignore_ascii_case("last") && weekday(said[0]).is_some() => {
                Some((name, day(&format!("last {}", said.join(" ")), today)?))
            }
            name => Some((name, day_of(said, today)?)),
        }
    });
    let (name, day) = match found {
        Some((name, day)) => (without_weekday(name), day.map_err(|error| error.to_string())?),
        None => (&words[..], today),
    };
    if name.iter().any(|word| word.starts_with(|sign: char| sign.is_ascii_digit())) {
        return Err("No day is told by that. Write it like 27 Nov, 2026-11-27 or yesterday.".to_owned());
    }
    if day > today {
        return Err(format!("{} lies in the future.", day.format(DateForm::customary().date())));
    }
    let name =
        if name.is_empty() { None } else { Some(Label::new(&name.join(" ")).map_err(|error| error.to_string())?) };
    Ok((name, day))
}

/// A name without the day of the week behind it.
fn without_weekday<'a, 'b>(name: &'a [&'b str]) -> &'a [&'b str] {
    match name {
        [rest @ .., last] if weekday(last).is_some() => rest,
        all => all,
    }
}

/// The day that some words of the line are. A name may be as short as a day of the week is often written.
fn day_of(words: &[&str], today: NaiveDate) -> Option<Result<NaiveDate, WhenError>> {
    let is_short = |word: &str| word.len() < "monday".len() && weekday(word).is_some();
    match words {
        [word] if is_short(word) => None,
        words => day(&words.join(" "), today),
    }
}

impl ForAnother {
    /// Enters for whom and for which day is written, once it is known what stands in the log of that day.
    fn take(&mut self, model: &mut Model) -> Turn {
        let today = model.clock.date();
        match read(&self.text, today) {
            Ok((name, day)) if day == today => {
                let wishes = match name.filter(|name| *name != model.by) {
                    Some(name) => model.enter_for(Behalf::today(name)),
                    None => model.enter_as_of_now(),
                };
                Turn { wishes, ..Turn::back() }
            }
            Ok((name, day)) => {
                self.asked = Some((name.unwrap_or_else(|| model.by.clone()), day));
                Turn { wishes: vec![Effect::Work(Work::Latest(day))], ..Turn::stay() }
            }
            Err(why) => model.refuse(why).into(),
        }
    }
}

impl Page for ForAnother {
    fn title(&self, _model: &Model) -> String {
        "Entering for".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let today = model.clock.date();
        let (meant, meaning) = match read(&self.text, today) {
            _ if self.text.trim().is_empty() => {
                ("for example: Ana, 27 Nov; or Ana yesterday".to_owned(), Meaning::Muted)
            }
            Ok((name, day)) => {
                let by = name.as_ref().unwrap_or(&model.by);
                (format!("{by}, on {} {}", day.format("%a"), day.format(DateForm::customary().date())), Meaning::Base)
            }
            Err(why) => (why, Meaning::Muted),
        };
        let mut lines = vec![model.question_line(" Enter for whom and which day: ", &self.text, width)];
        lines.extend(paragraph(model, &format!(" {meant}"), width, meaning));
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn manner(&self) -> Manner {
        Manner::ALONE.of(LONGEST)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.take(model))
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        let Answer::Latest(day, latest) = answer else { return None };
        let (by, _) = self.asked.take().filter(|(_, asked)| asked == day)?;
        let wishes = model.enter_for(Behalf::on(by, *day, *latest, model.clock));
        Some(Turn { wishes, ..Turn::back() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_and_a_day_are_read_as_people_write_them() {
        let today = NaiveDate::from_ymd_opt(2026, 11, 28).unwrap();
        let told = |text: &str| {
            read(text, today)
                .map(|(name, day)| (name.map_or_else(String::new, |name| name.to_string()), day.to_string()))
        };
        for (text, name, day) in [
            ("Ana, 27 Nov", "Ana", "2026-11-27"),
            ("Ana yesterday", "Ana", "2026-11-27"),
            ("27 Nov", "", "2026-11-27"),
            ("Jo of the vault 2026-11-20", "Jo of the vault", "2026-11-20"),
            ("Ana 27.11.", "Ana", "2026-11-27"),
            ("Ana 27/11", "Ana", "2026-11-27"),
            ("Ana 30 Dec", "Ana", "2025-12-30"),
            ("Ana Fri 27 Nov 2026", "Ana", "2026-11-27"),
            ("Ana", "Ana", "2026-11-28"),
            ("today", "", "2026-11-28"),
            ("Ana tuesday", "Ana", "2026-11-24"),
            ("Ana last tue", "Ana", "2026-11-24"),
            ("Ana 27/11/2026", "Ana", "2026-11-27"),
            ("Sun", "Sun", "2026-11-28"),
        ] {
            assert_eq!(told(text), Ok((name.to_owned(), day.to_owned())), "{text}");
        }
        for (text, part) in [
            ("", "Write a name"),
            ("Ana 31 Nov", "No day"),
            ("Ana 3/4", "could be 3 Apr 2026 or 4 Mar 2026"),
            ("Ana 2027-01-02", "in the future"),
        ] {
            assert!(told(text).unwrap_err().contains(part), "{text}");
        }
    }
}
