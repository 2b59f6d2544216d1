//! A form: a kind of fact as a person fills it in.

use super::entry::Entry;
use super::offering::Offering;

/// A kind of fact as a person fills it in.
#[derive(Debug)]
pub struct Form {
    /// The kind of its fact.
    pub kind: &'static str,
    /// What is done with it, as a list has it: `Wine is lost`.
    pub title: &'static str,
    /// A sentence about it.
    pub help: &'static str,
    /// What a cellar says for it besides.
    pub also: &'static [&'static str],
    /// What its fact says: fields in braces by their names in the fact; what stands in square brackets is said only where each field in
    /// it is. `{vessel}: {volume_ul} lost by {cause}[, {purpose}]`.
    pub says: &'static str,
    /// Its fields, first those that are always said.
    pub fields: &'static [Field],
    /// The command that fills it.
    pub desk: AtDesk,
    /// What is typed at the desk for an example; every one is tried by a test.
    pub example: &'static str,
    /// Where it is filled on the screen.
    pub screen: OnScreen,
}

/// A form of no field, for a fact of a kind that has no form.
pub static PLAIN: Form = Form {
    kind: "",
    title: "A fact",
    help: "",
    also: &[],
    says: "",
    fields: &[],
    desk: AtDesk::Elsewhere(""),
    example: "",
    screen: OnScreen::Elsewhere(""),
};

/// Where a kind of fact is entered at the desk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtDesk {
    /// By a command that is made of the form.
    Command(&'static str),
    /// By a command of its own, which says more.
    Elsewhere(&'static str),
}

/// Where a kind of fact is entered on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnScreen {
    /// By a page that is made of the form.
    Form,
    /// By a key or a page of its own, which is told.
    Elsewhere(&'static str),
}

/// A field.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Its name in the fact.
    pub key: &'static str,
    /// Its name to a person, which is its option at the desk, with hyphens for spaces.
    pub name: &'static str,
    /// What is written in it.
    pub entry: Entry,
    /// Whether it must be said.
    pub need: Need,
    /// What is to be written, in a few words.
    pub hint: &'static str,
}

/// Whether a field must be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Must,
    /// It must, and this stands there until something else is written.
    Usual(&'static str),
    /// It need not.
    May,
    /// It need not, and what was written last is offered.
    Again,
    /// It must, and where nothing is written what the cellar offers is meant.
    Offered(Offering),
    /// It is not filled in; it only says in a sentence, or in a correction, what the fact holds.
    Told,
}

impl Field {
    /// A field that must be said.
    #[must_use]
    pub const fn must(key: &'static str, name: &'static str, entry: Entry, hint: &'static str) -> Field {
        Field { key, name, entry, need: Need::Must, hint }
    }

    /// A field that must be said and has a usual value.
    #[must_use]
    pub const fn usual(
        key: &'static str,
        name: &'static str,
        entry: Entry,
        usual: &'static str,
        hint: &'static str,
    ) -> Field {
        Field { key, name, entry, need: Need::Usual(usual), hint }
    }

    /// A field that may be said.
    #[must_use]
    pub const fn may(key: &'static str, name: &'static str, entry: Entry, hint: &'static str) -> Field {
        Field { key, name, entry, need: Need::May, hint }
    }

    /// A field that may be said, where what was written last is offered.
    #[must_use]
    pub const fn again(key: &'static str, name: &'static str, entry: Entry, hint: &'static str) -> Field {
        Field { key, name, entry, need: Need::Again, hint }
    }

    /// A field that must be said, for which the cellar offers something.
    #[must_use]
    pub const fn offered(
        key: &'static str,
        name: &'static str,
        entry: Entry,
        offering: Offering,
        hint: &'static str,
    ) -> Field {
        Field { key, name, entry, need: Need::Offered(offering), hint }
    }

    /// A field that is only told.
    #[must_use]
    pub const fn told(key: &'static str, name: &'static str, entry: Entry) -> Field {
        Field { key, name, entry, need: Need::Told, hint: "" }
    }

    /// Its option at the desk, without the hyphens before it.
    #[must_use]
    pub fn option(&self) -> String {
        self.name.replace(' ', "-")
    }

    /// How a command's help names what stands for it: `LITRES`.
    #[must_use]
    pub fn placeholder(&self) -> String {
        self.name.to_uppercase().replace(' ', "-")
    }

    /// Whether it stands by its place at the desk, without its name.
    #[must_use]
    pub const fn is_positional(&self) -> bool {
        matches!(self.need, Need::Must)
    }
}

impl Form {
    /// The command that is made of it, where one is.
    #[must_use]
    pub const fn command(&self) -> Option<&'static str> {
        match self.desk {
            AtDesk::Command(command) => Some(command),
            AtDesk::Elsewhere(_) => None,
        }
    }

    /// Whether a page is made of it.
    #[must_use]
    pub fn has_page(&self) -> bool {
        self.screen == OnScreen::Form
    }

    /// The fields that are filled in.
    pub fn filled_in(&self) -> impl Iterator<Item = (usize, &'static Field)> {
        self.fields.iter().enumerate().filter(|(_, field)| field.need != Need::Told)
    }
}
