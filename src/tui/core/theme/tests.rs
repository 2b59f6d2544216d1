//! What a palette must keep: modifiers tell meanings apart, colours are readable and safe for colour-blind eyes.

use super::*;

const MEANINGS: [Meaning; 14] = [
    Meaning::Base,
    Meaning::Muted,
    Meaning::Strong,
    Meaning::Title,
    Meaning::Key,
    Meaning::Unavailable,
    Meaning::Fine,
    Meaning::Due,
    Meaning::Over,
    Meaning::Held,
    Meaning::Empty,
    Meaning::Selected,
    Meaning::Warning,
    Meaning::Error,
];

fn all_styles(palette: Palette) -> Vec<Style> {
    let theme = Theme::new(palette);
    let meanings = MEANINGS.iter().map(|&meaning| theme.style(meaning));
    let selected = MEANINGS.iter().map(|&meaning| theme.selected(theme.style(meaning)));
    let scales = (0..20).flat_map(|index| [theme.category(index), theme.step(index)]);
    meanings.chain(selected).chain(scales).collect()
}

#[test]
fn mono_has_no_colour() {
    for style in all_styles(Palette::Mono) {
        assert_eq!((style.fg, style.bg, style.underline_color), (None, None, None));
    }
}

#[test]
fn no_palette_fills_a_background() {
    for palette in Palette::value_variants() {
        assert!(all_styles(*palette).iter().all(|style| style.bg.is_none()));
    }
}

#[test]
fn modifiers_alone_tell_the_states_of_a_barrel_apart() {
    let states = [Meaning::Base, Meaning::Due, Meaning::Over, Meaning::Held, Meaning::Empty];
    let theme = Theme::new(Palette::Mono);
    let mut looks = states.map(|state| theme.style(state)).to_vec();
    looks.extend(states.map(|state| theme.selected(theme.style(state))));
    for (index, look) in looks.iter().enumerate() {
        assert!(!looks[..index].contains(look), "{index} looks like an earlier one");
    }
}

#[test]
fn what_is_selected_is_reversed_in_every_palette() {
    for style in Palette::value_variants().iter().map(|&palette| Theme::new(palette).style(Meaning::Selected)) {
        assert_eq!(style, Style::new().add_modifier(Modifier::REVERSED));
    }
}

#[test]
fn asking_for_a_palette_outranks_the_environment() {
    let no_color = Surroundings { no_color: true, unicode: true };
    assert_eq!(Palette::choose(None, None, Surroundings::default()), Palette::Dusk);
    assert_eq!(Palette::choose(None, Some(Palette::Cave), no_color), Palette::Mono);
    assert_eq!(Palette::choose(Some(Palette::Aisle), None, no_color), Palette::Aisle);
    assert_eq!(Palette::choose(None, Some(Palette::Cave), Surroundings::default()), Palette::Cave);
}

#[test]
fn shares_run_over_all_steps() {
    let theme = Theme::new(Palette::Cave);
    assert_eq!(theme.share(-1.0), theme.step(0));
    assert_eq!(theme.share(f64::NAN), theme.step(0));
    assert_eq!(theme.share(0.5), theme.step(3));
    assert_eq!(theme.share(2.0), theme.step(STEPS - 1));
}

/// Linear red, green and blue of a colour of the 256-colour table, as xterm defines it.
fn linear(index: u8) -> [f64; 3] {
    let channels = match index {
        0..16 => panic!("the first sixteen are whatever the terminal makes of them"),
        16..232 => {
            let cube = index - 16;
            [cube / 36, cube / 6 % 6, cube % 6].map(|level| if level == 0 { 0 } else { 55 + 40 * level })
        }
        grey => [8 + 10 * (grey - 232); 3],
    };
    channels.map(|channel| {
        let value = f64::from(channel) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    })
}

fn luminance([red, green, blue]: [f64; 3]) -> f64 {
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Contrast ratio of the Web Content Accessibility Guidelines.
fn contrast(colour: u8, background: f64) -> f64 {
    let colour = luminance(linear(colour));
    (colour.max(background) + 0.05) / (colour.min(background) + 0.05)
}

/// What an eye without red (protan) or green (deutan) receptors sees, after Viénot, Brettel and Mollon 1999.
fn protan([red, green, blue]: [f64; 3]) -> [f64; 3] {
    let yellow = 0.11238 * red + 0.88762 * green;
    [yellow, yellow, 0.00401 * red - 0.00401 * green + blue]
}

fn deutan([red, green, blue]: [f64; 3]) -> [f64; 3] {
    let yellow = 0.29275 * red + 0.70725 * green;
    [yellow, yellow, -0.02234 * red + 0.02234 * green + blue]
}

/// What an eye without blue (tritan) receptors sees, after Machado, Oliveira and Fernandes 2009, at full severity.
fn tritan([red, green, blue]: [f64; 3]) -> [f64; 3] {
    [
        1.255_528 * red - 0.076_749 * green - 0.178_779 * blue,
        -0.078_411 * red + 0.930_809 * green + 0.147_602 * blue,
        0.004_733 * red + 0.691_367 * green + 0.303_900 * blue,
    ]
}

type Eye = fn([f64; 3]) -> [f64; 3];

/// The usual eye, and the three usual forms of colour-blindness.
const EYES: [Eye; 4] = [|colour| colour, protan, deutan, tritan];

fn lab(colour: [f64; 3]) -> [f64; 3] {
    let [red, green, blue] = colour.map(|channel| channel.clamp(0.0, 1.0));
    let x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.95047;
    let z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.08883;
    let [x, y, z] = [x, luminance([red, green, blue]), z]
        .map(|value| if value > 0.008_856 { value.cbrt() } else { 7.787 * value + 16.0 / 116.0 });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// How far apart two colours are for the eye that sees the least difference (CIE 1976; about 2 is just visible).
fn apart(one: u8, other: u8) -> f64 {
    apart_for(&EYES, one, other)
}

fn apart_for(eyes: &[Eye], one: u8, other: u8) -> f64 {
    let distance = |eye: &Eye| {
        let (one, other) = (lab(eye(linear(one))), lab(eye(linear(other))));
        one.iter().zip(other).map(|(one, other)| (one - other).powi(2)).sum::<f64>().sqrt()
    };
    eyes.iter().map(distance).fold(f64::INFINITY, f64::min)
}

fn least_apart(colours: &[u8]) -> f64 {
    let pairs =
        colours.iter().enumerate().flat_map(|(index, &one)| colours[..index].iter().map(move |&two| (one, two)));
    // The eye without blue is rare, and eight kinds of colour are too many for it: their letters tell them apart.
    pairs.map(|(one, two)| apart_for(&EYES[..3], one, two)).fold(f64::INFINITY, f64::min)
}

#[test]
fn colours_are_readable_on_their_background() {
    for (colours, background) in [(&CAVE, 0.0), (&AISLE, 1.0)] {
        let states = [colours.muted, colours.fine, colours.due, colours.over, colours.held];
        for colour in states.into_iter().chain(colours.categories) {
            assert!(contrast(colour, background) >= 4.5, "{colour}: {:.1}", contrast(colour, background));
        }
        // The quiet end of the scale may be fainter: a digit stands there and the loud end is what matters.
        for colour in colours.steps {
            assert!(contrast(colour, background) >= 3.0, "{colour}: {:.1}", contrast(colour, background));
        }
    }
}

#[test]
fn colour_blind_eyes_tell_states_kinds_and_steps_apart() {
    for colours in [&CAVE, &AISLE] {
        assert!(least_apart(&[colours.muted, colours.fine, colours.due, colours.over, colours.held]) > 25.0);
        assert!(least_apart(&colours.categories) > 25.0);
        assert!(least_apart(&colours.steps) > 12.0, "{:.1}", least_apart(&colours.steps));
    }
}

#[test]
fn more_stands_out_more() {
    for (colours, background) in [(&CAVE, 0.0), (&AISLE, 1.0)] {
        let contrasts = colours.steps.map(|step| contrast(step, background));
        assert!(contrasts.is_sorted(), "{contrasts:.1?}");
    }
}

/// The default palette is not chosen by the terminal's background, which nobody can ask for: it is readable on black and on
/// white. For an eye without red or green a colour is lighter or darker than it is measured; 3.9 : 1 is left of it then, beside
/// the letter or digit that says the same in the terminal's own words.
#[test]
fn the_default_palette_is_readable_on_black_and_on_white() {
    let states = [DUSK.muted, DUSK.fine, DUSK.due, DUSK.over, DUSK.held];
    for colour in states.into_iter().chain(DUSK.categories).chain(DUSK.steps) {
        for background in [0.0, 1.0] {
            assert!(contrast(colour, background) >= 4.5, "{colour}: {:.2}", contrast(colour, background));
            for eye in EYES {
                let seen = luminance(eye(linear(colour)));
                let ratio = (seen.max(background) + 0.05) / (seen.min(background) + 0.05);
                assert!(ratio >= 3.9, "{colour} on {background}: {ratio:.2}");
            }
        }
    }
}

/// Six colours are too few to tell everything apart by: what is bold or underlined alike must differ in colour, for every eye.
#[test]
fn in_the_default_palette_colour_and_modifiers_together_tell_apart() {
    let theme = Theme::new(Palette::Dusk);
    let index = |style: Style| match style.fg {
        Some(Color::Indexed(index)) => index,
        other => panic!("{other:?}"),
    };
    let states = [Meaning::Muted, Meaning::Fine, Meaning::Due, Meaning::Over, Meaning::Held].map(|it| theme.style(it));
    let kinds = [0, 1, 2, 3, 4, 5, 6, 7].map(|kind| theme.category(kind));
    for styles in [states.to_vec(), kinds.to_vec()] {
        for (at, one) in styles.iter().enumerate() {
            for other in styles[..at].iter().filter(|other| other.add_modifier == one.add_modifier) {
                let apart = apart(index(*one), index(*other));
                // Red-brown and green are the least apart; every kind has its letter besides.
                assert!(apart > 9.0, "{one:?} and {other:?}: {apart:.1}");
            }
        }
    }
    let steps: Vec<Style> = (0..STEPS).map(|step| theme.step(step)).collect();
    assert!(steps.last() != steps.first() && steps.windows(2).filter(|pair| pair[0] == pair[1]).count() <= 2);
}

#[test]
fn palettes_come_round() {
    let themes = std::iter::successors(Some(Theme::default()), |theme| Some(theme.turned()));
    let round: Vec<&str> = themes.map(Theme::words).take(5).collect();
    assert_eq!(round[0], round[4]);
    assert_eq!(round[..4].iter().collect::<std::collections::HashSet<_>>().len(), 4);
}

/// Which colour of a palette a meaning has.
type Coloured = fn(&Colours) -> Option<u8>;

/// Pictures name what a thing means and never how that looks: how each meaning looks stands here.
#[test]
fn a_meaning_looks_as_it_is_known() {
    let (bold, dim, underlined) = (Modifier::BOLD, Modifier::DIM, Modifier::UNDERLINED);
    let plain = Modifier::empty();
    let looks: [(Meaning, Modifier, Coloured); 14] = [
        (Meaning::Base, plain, |_| None),
        (Meaning::Muted, dim, |colours| Some(colours.muted)),
        (Meaning::Strong, bold, |_| None),
        (Meaning::Title, bold, |_| None),
        (Meaning::Key, bold, |_| None),
        (Meaning::Unavailable, dim, |colours| Some(colours.muted)),
        (Meaning::Fine, plain, |colours| Some(colours.fine)),
        (Meaning::Due, bold, |colours| Some(colours.due)),
        (Meaning::Over, bold.union(underlined), |colours| Some(colours.over)),
        (Meaning::Held, underlined, |colours| Some(colours.held)),
        (Meaning::Empty, dim, |colours| Some(colours.muted)),
        (Meaning::Selected, Modifier::REVERSED, |_| None),
        (Meaning::Warning, bold, |colours| Some(colours.due)),
        (Meaning::Error, bold.union(underlined), |colours| Some(colours.over)),
    ];
    assert_eq!(looks.map(|(meaning, ..)| meaning), MEANINGS);
    for (meaning, modifiers, colour) in looks {
        let mono = Theme::new(Palette::Mono).style(meaning);
        assert_eq!((mono.add_modifier, mono.fg), (modifiers, None), "{meaning:?}");
        for (palette, colours) in [(Palette::Dusk, &DUSK), (Palette::Cave, &CAVE), (Palette::Aisle, &AISLE)] {
            let style = Theme::new(palette).style(meaning);
            // What is coloured is not dimmed as well.
            let modifiers = if colour(colours).is_some() { modifiers.difference(dim) } else { modifiers };
            let wanted = (modifiers, colour(colours).map(Color::Indexed));
            assert_eq!((style.add_modifier, style.fg), wanted, "{meaning:?} in {palette:?}");
        }
    }
}
