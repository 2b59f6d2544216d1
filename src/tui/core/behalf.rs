//! Entering for somebody and for a day that is over: from a sheet of paper, the morning after. While it is on, what is entered carries
//! that name and that day, each act a minute after the one before, and the cellar is looked at as of then.

use chrono::{NaiveDate, NaiveTime};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::desk::Act;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::columns;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Work;
use crate::tui::edge::screen::Effect;

/// The first act of a day, where nothing stands in the log of it: work begins at eight.
const BEGINS: NaiveTime = match NaiveTime::from_hms_opt(8, 0, 0) {
    Some(eight) => eight,
    None => NaiveTime::MIN,
};
/// What lies between two acts, in microseconds; less where a day has no room for it.
const BETWEEN: [i64; 3] = [60_000_000, 1_000_000, 1];

/// For whom and for which day something is entered.
#[derive(Clone, Debug, PartialEq)]
pub struct Behalf {
    /// Who did it.
    pub by: Label,
    /// The moment of the next act; none where the day is today, and it is now.
    next: Option<Moment>,
}

impl Behalf {
    /// For somebody, today.
    #[must_use]
    pub const fn today(by: Label) -> Behalf {
        Behalf { by, next: None }
    }

    /// For somebody on a day that is over, after what stands in the log of that day, by the clock of `now`.
    #[must_use]
    pub fn on(by: Label, day: NaiveDate, latest: Option<Moment>, now: Moment) -> Behalf {
        let begins = now.at_wall(day.and_time(BEGINS));
        let next = latest.map(|latest| now.at_instant(latest.instant())).filter(|it| it.instant() >= begins.instant());
        Behalf { by, next: Some(next.map_or(begins, after)) }
    }

    /// What time it is, as far as acts are concerned.
    #[must_use]
    pub fn time(&self, clock: Moment) -> Moment {
        self.next.unwrap_or(clock)
    }

    /// An act is on disk: the next one comes after it.
    fn go_on(&mut self) {
        self.next = self.next.map(after);
    }

    /// How the head says it: `entering for Ana, 27 Nov`; shorter where so many columns have no room for it, but never without the day.
    #[must_use]
    pub fn words(&self, room: usize) -> String {
        let day = self.next.map_or_else(|| "today".to_owned(), Moment::show_day);
        let whole = format!("entering for {}, {day}", self.by);
        if columns(&whole) <= room { whole } else { format!("{day}, for {}", self.by) }
    }
}

/// The moment after another on the same day, as far as that day goes on.
fn after(moment: Moment) -> Moment {
    let later = BETWEEN.map(|step| moment.at_instant(moment.instant().saturating_add(step)));
    later.into_iter().find(|it| it.date() == moment.date()).unwrap_or(later[2])
}

impl Model {
    /// An act of these facts: by whom, and for which day, as it is entered now.
    pub(in crate::tui) fn act(&self, whats: Vec<What>) -> Act {
        Act { at: self.behalf.as_ref().and_then(|behalf| behalf.next), ..Act::of(whats, self.enters().clone()) }
    }

    /// Who did what is entered now.
    pub(in crate::tui) fn enters(&self) -> &Label {
        self.behalf.as_ref().map_or(&self.by, |behalf| &behalf.by)
    }

    /// Takes over what time it is for what is entered now.
    pub(in crate::tui) fn set_time(&mut self) {
        self.now = self.behalf.as_ref().map_or(self.clock, |behalf| behalf.time(self.clock));
    }

    /// An act is on disk.
    pub(in crate::tui) fn act_is_stored(&mut self) {
        if let Some(behalf) = &mut self.behalf {
            behalf.go_on();
        }
        self.set_time();
    }

    /// Enters for somebody and a day from now on, and looks at the cellar as of then.
    pub(in crate::tui) fn enter_for(&mut self, behalf: Behalf) -> Wishes {
        let by = behalf.by.clone();
        let look = Work::LookAt(behalf.next);
        self.behalf = Some(behalf);
        self.set_time();
        let day = self.now.show_weekday();
        self.say(format!("What is entered from now on was done by {by} on {day}. / as of now ends it."), Tone::Notice);
        vec![Effect::Work(look)]
    }

    /// Enters as of now again.
    pub(in crate::tui) fn enter_as_of_now(&mut self) -> Wishes {
        let ended = self.behalf.take();
        self.set_time();
        if let Some(Behalf { by, .. }) = ended {
            self.say(format!("As of now again, and by {}; no more for {by}.", self.by), Tone::Done);
        }
        vec![Effect::Work(Work::LookAt(None))]
    }

    /// The cellar as of the day that is entered is there.
    pub(in crate::tui) fn see_as_of_then(&mut self, state: State) {
        let not_begun = self.round_begun_later(&state);
        let lost = self.take_state(state);
        for said in [lost, not_begun].into_iter().flatten() {
            self.say_also(&said, Tone::Notice);
        }
    }

    /// What is said where the round of the room had not begun in another state of the cellar.
    fn round_begun_later(&self, there: &State) -> Option<String> {
        let room = self.state.rooms.get(self.room().filter(|_| self.behalf.is_some())?);
        room.open_round?;
        let room = &room.label;
        let id = there.rooms.find(room.as_str());
        let is_open = id.is_some_and(|id| there.rooms.get(id).open_round.is_some());
        (!is_open).then(|| {
            format!("The round of {room} had not begun then: {} begins it as of that day.", Sense::Begin.key_name())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn acts_of_a_day_follow_each_other_and_never_leave_it() {
        let now = Moment::parse("2026-11-28T07:10:00+01:00").unwrap();
        let day = now.date().pred_opt().unwrap();
        let first = |latest: Option<&str>| {
            let latest = latest.map(|text| Moment::parse(text).unwrap());
            Behalf::on(Label::new("Ana").unwrap(), day, latest, now)
        };
        let shown = |behalf: &Behalf| behalf.time(now).to_string();
        let mut behalf = first(None);
        assert_eq!(shown(&behalf), "2026-11-27T08:00:00+01:00");
        behalf.go_on();
        assert_eq!(shown(&behalf), "2026-11-27T08:01:00+01:00");
        assert_eq!(shown(&first(Some("2026-11-27T06:30:00+01:00"))), "2026-11-27T08:00:00+01:00");
        assert_eq!(shown(&first(Some("2026-11-27T16:30:00+01:00"))), "2026-11-27T16:31:00+01:00");
        let mut late = first(Some("2026-11-27T23:58:59+01:00"));
        let mut before = late.time(now);
        for _ in 0..100 {
            late.go_on();
            assert!(late.time(now).instant() > before.instant());
            before = late.time(now);
        }
    }

    #[test]
    fn the_head_never_loses_the_day() {
        let now = Moment::parse("2026-11-28T07:10:00+01:00").unwrap();
        let day = now.date().pred_opt().unwrap();
        let behalf = Behalf::on(Label::new("Ana of the long aisle").unwrap(), day, None, now);
        assert_eq!(behalf.words(45), "entering for Ana of the long aisle, 27 Nov");
        assert!(behalf.words(20).starts_with("27 Nov, for Ana"));
        assert_eq!(Behalf::today(Label::new("Ana").unwrap()).words(40), "entering for Ana, today");
    }
}
