//! What comes of a key on a page: what is wished, where the page goes, and where one goes on it.

use super::page::Doing;
use super::then::Then;
use super::update::Wishes;

/// What comes of a key: what is wished, and where the page goes.
#[must_use]
pub struct Turn {
    /// What is wished.
    pub wishes: Wishes,
    /// Where the page goes.
    pub goes: Goes,
}

/// Where a page goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Goes {
    /// It stays.
    Nowhere,
    /// It is closed; what stood under it is in sight again.
    Back,
    /// It is closed, and what was chosen of what can be done on the page under it is done.
    BackAndDo(Doing),
    /// It is closed, and what was typed on it is typed on what stood under it.
    BackAndType(String),
    /// It is closed, and what stood under it hears that its act is on disk.
    BackAndStored(Then),
    /// It and all under it are closed.
    ToFloor,
    /// It and all under it are closed, and the floor hears that its act is on disk.
    ToFloorAndStored(Then),
    /// It and all under it are closed, and a command of the floor is given.
    ToFloorAndGive(&'static str),
}

impl Turn {
    /// The page stays.
    pub fn stay() -> Turn {
        Turn { wishes: Vec::new(), goes: Goes::Nowhere }
    }

    /// The page is closed.
    pub fn back() -> Turn {
        Turn { wishes: Vec::new(), goes: Goes::Back }
    }

    /// The page is closed, and what stood under it hears that its act is on disk.
    pub fn back_and_stored(then: Then) -> Turn {
        Turn { wishes: Vec::new(), goes: Goes::BackAndStored(then) }
    }

    /// All pages are closed, and the floor hears that the act is on disk.
    pub fn to_floor_and_stored(then: Then) -> Turn {
        Turn { wishes: Vec::new(), goes: Goes::ToFloorAndStored(then) }
    }

    /// All pages are closed.
    pub fn to_floor() -> Turn {
        Turn { wishes: Vec::new(), goes: Goes::ToFloor }
    }

    /// The same with what is wished.
    pub fn wishing(self, wishes: Wishes) -> Turn {
        Turn { wishes, ..self }
    }
}

impl From<Wishes> for Turn {
    /// What is wished from a page that stays.
    fn from(wishes: Wishes) -> Turn {
        Turn::stay().wishing(wishes)
    }
}

/// Where one goes on a page by arrows, page up and down, home and end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Go {
    /// One line up.
    Up,
    /// One line down.
    Down,
    /// Half a screen up.
    PageUp,
    /// Half a screen down.
    PageDown,
    /// To the first line.
    Start,
    /// To the last line.
    End,
}

impl Go {
    /// By how many lines it goes through a list, where half a screen is so many.
    #[must_use]
    pub fn by(self, half: usize) -> isize {
        let half = isize::try_from(half).unwrap_or(isize::MAX);
        match self {
            Go::Up => -1,
            Go::Down => 1,
            Go::PageUp => -half,
            Go::PageDown => half,
            Go::Start => isize::MIN,
            Go::End => isize::MAX,
        }
    }

    /// The line that comes by it after one, of those up to a last one.
    #[must_use]
    pub fn line(self, from: usize, last: usize, half: usize) -> usize {
        from.min(last).saturating_add_signed(self.by(half)).min(last)
    }
}
