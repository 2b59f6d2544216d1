//! Styles by meaning. A screen says what a thing means; the palette says how that looks.
//!
//! Nothing is told by colour alone: letters, digits or marks stand there too, and in the mono palette modifiers tell the
//! states of a barrel apart. No palette fills a background: what is selected is reversed, which every terminal shows with
//! its own colours.

use clap::ValueEnum;
use ratatui::style::{Color, Modifier, Style};

use crate::tui::edge::surroundings::Surroundings;

/// How many categories can be told apart.
pub const CATEGORIES: usize = 8;
/// How many steps the scale from little to much has.
pub const STEPS: usize = 6;

/// What a thing on the screen means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Meaning {
    /// Ordinary text.
    Base,
    /// Less important: units, captions, lines.
    Muted,
    /// More important than its neighbours.
    Strong,
    /// Names a part of the screen.
    Title,
    /// A key that can be pressed now.
    Key,
    /// A key or command that cannot be used now.
    Unavailable,
    /// In order.
    Fine,
    /// Wants to be done soon.
    Due,
    /// Should have been done.
    Over,
    /// Must not be touched.
    Held,
    /// Holds no wine.
    Empty,
    /// Where the cursor is. To be laid over another meaning: see [`Theme::selected`].
    Selected,
    /// Something to beware of.
    Warning,
    /// Something went wrong, or was refused.
    Error,
}

/// How meanings look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Palette {
    /// Readable on a dark and on a light terminal alike: few colours, and the rest told by bold and underlined.
    #[default]
    Dusk,
    /// For a dark cellar: light text on a dark terminal.
    Cave,
    /// For a bright aisle: dark text on a light terminal.
    Aisle,
    /// No colour at all.
    Mono,
}

impl Palette {
    /// The palettes as they come round.
    pub const ALL: [Palette; 4] = [Palette::Dusk, Palette::Cave, Palette::Aisle, Palette::Mono];

    /// What it is for, in a few words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Palette::Dusk => "for dark and light terminals",
            Palette::Cave => "for a dark terminal",
            Palette::Aisle => "for a light terminal",
            Palette::Mono => "without colour",
        }
    }

    /// The palette for a person who may have asked for one, and may have a usual one. Asking outranks the environment, and that the usual one.
    #[must_use]
    pub fn choose(asked: Option<Palette>, usual: Option<Palette>, surroundings: Surroundings) -> Palette {
        asked.unwrap_or(if surroundings.no_color { Palette::Mono } else { usual.unwrap_or_default() })
    }
}

/// Gives the style of every meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Theme {
    palette: Palette,
}

/// The colours of a palette, from the fixed part of the 256-colour table, which terminals do not recolour. The ordinary
/// text is left in the terminal's own colour.
struct Colours {
    muted: u8,
    fine: u8,
    due: u8,
    over: u8,
    held: u8,
    categories: [u8; CATEGORIES],
    steps: [u8; STEPS],
}

/// Between what is readable on black and what is readable on white, at 4.5 : 1 each, lie six colours of the table: these, and
/// one that an eye without red hardly sees on black.
const DUSK: Colours = Colours {
    muted: 243,
    fine: 29,
    due: 98,
    over: 131,
    held: 63,
    categories: [63, 131, 98, 29, 63, 131, 98, 29],
    steps: [243, 243, 63, 63, 98, 131],
};

const CAVE: Colours = Colours {
    muted: 245,
    fine: 114,
    due: 226,
    over: 166,
    held: 177,
    categories: [39, 226, 163, 252, 63, 229, 136, 131],
    steps: [62, 68, 74, 115, 185, 230],
};

const AISLE: Colours = Colours {
    muted: 241,
    fine: 25,
    due: 130,
    over: 52,
    held: 56,
    categories: [21, 130, 16, 62, 24, 131, 17, 19],
    steps: [136, 65, 31, 26, 54, 16],
};

impl Theme {
    /// The theme of a palette.
    #[must_use]
    pub fn new(palette: Palette) -> Theme {
        Theme { palette }
    }

    /// How a meaning looks.
    #[must_use]
    pub fn style(self, meaning: Meaning) -> Style {
        let style = Style::new().add_modifier(modifiers(meaning));
        match self.colours() {
            // Dimming a colour that is chosen to be just readable would make it unreadable.
            Some(colours) => match colour(colours, meaning) {
                Some(index) => coloured(style.remove_modifier(Modifier::DIM), index),
                None => style,
            },
            None => style,
        }
    }

    /// How a thing of this look is shown under the cursor: the same, reversed.
    #[must_use]
    pub fn selected(self, style: Style) -> Style {
        style.patch(self.style(Meaning::Selected))
    }

    /// How the `index`th of several kinds looks; beyond the eighth they begin anew. The letter that names the kind must
    /// stand there as well.
    #[must_use]
    pub fn category(self, index: usize) -> Style {
        let index = index % CATEGORIES;
        // Where a palette has fewer colours than there are kinds, the second half is underlined.
        let again = self.palette == Palette::Dusk && index >= CATEGORIES / 2;
        let style = Style::new().add_modifier(if again { Modifier::UNDERLINED } else { Modifier::empty() });
        self.colours().map_or(Style::new(), |colours| coloured(style, colours.categories[index]))
    }

    /// How a step of the scale from little to much looks; beyond the last it stays there.
    #[must_use]
    pub fn step(self, step: usize) -> Style {
        let step = step.min(STEPS - 1);
        match self.colours() {
            Some(colours) if self.palette == Palette::Dusk => {
                coloured(Style::new().add_modifier(MONO_STEPS[step].difference(Modifier::DIM)), colours.steps[step])
            }
            Some(colours) => coloured(Style::new(), colours.steps[step]),
            None => Style::new().add_modifier(MONO_STEPS[step]),
        }
    }

    /// How a share of a whole looks on the scale from little to much.
    #[must_use]
    pub fn share(self, share: f64) -> Style {
        let last = u8::try_from(STEPS - 1).unwrap_or(u8::MAX);
        let step = (1..=last).take_while(|&step| share * f64::from(last) + 0.5 >= f64::from(step)).count();
        self.step(step)
    }

    /// The theme that comes round after this one.
    #[must_use]
    pub fn turned(self) -> Theme {
        let at = Palette::ALL.iter().position(|&palette| palette == self.palette).map_or(0, |at| at + 1);
        Theme::new(Palette::ALL[at % Palette::ALL.len()])
    }

    /// What it is for, in a few words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        self.palette.words()
    }

    fn colours(self) -> Option<&'static Colours> {
        match self.palette {
            Palette::Dusk => Some(&DUSK),
            Palette::Cave => Some(&CAVE),
            Palette::Aisle => Some(&AISLE),
            Palette::Mono => None,
        }
    }
}

// Six steps from what four modifiers can say; the digits beside them say the rest.
const MONO_STEPS: [Modifier; STEPS] = [
    Modifier::DIM,
    Modifier::DIM,
    Modifier::empty(),
    Modifier::empty(),
    Modifier::BOLD,
    Modifier::BOLD.union(Modifier::UNDERLINED),
];

fn coloured(style: Style, index: u8) -> Style {
    style.fg(Color::Indexed(index))
}

fn modifiers(meaning: Meaning) -> Modifier {
    match meaning {
        Meaning::Base | Meaning::Fine => Modifier::empty(),
        Meaning::Muted | Meaning::Unavailable | Meaning::Empty => Modifier::DIM,
        Meaning::Strong | Meaning::Title | Meaning::Key | Meaning::Due | Meaning::Warning => Modifier::BOLD,
        Meaning::Held => Modifier::UNDERLINED,
        Meaning::Over | Meaning::Error => Modifier::BOLD.union(Modifier::UNDERLINED),
        Meaning::Selected => Modifier::REVERSED,
    }
}

fn colour(colours: &Colours, meaning: Meaning) -> Option<u8> {
    match meaning {
        Meaning::Base | Meaning::Strong | Meaning::Title | Meaning::Key | Meaning::Selected => None,
        Meaning::Muted | Meaning::Unavailable | Meaning::Empty => Some(colours.muted),
        Meaning::Fine => Some(colours.fine),
        Meaning::Due | Meaning::Warning => Some(colours.due),
        Meaning::Over | Meaning::Error => Some(colours.over),
        Meaning::Held => Some(colours.held),
    }
}

#[cfg(test)]
mod tests;
