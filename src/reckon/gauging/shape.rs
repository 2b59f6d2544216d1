//! The barrels of the trade by name, with their litres and inside sizes.
//!
//! They stand in `assets/shapes.json`, each with its source. Coopers publish outside sizes; inside they are less by the
//! staves, and the inside length is then reckoned so that the barrel holds its litres, because how deep the heads lie is
//! published nowhere. A table scaled by the capacity depends little on that length.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::lying::LyingBarrel;

/// A barrel of the trade.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// What it is called.
    pub name: String,
    /// What else it is called.
    pub also: Vec<String>,
    /// What it holds.
    pub litres: f64,
    /// Inside diameter at the bilge, mm.
    pub bilge_mm: f64,
    /// Inside diameter at a head, mm.
    pub head_mm: f64,
    /// Inside length, mm.
    pub length_mm: f64,
    /// Where litres and sizes come from.
    pub source: String,
}

static SHAPES: LazyLock<Vec<Shape>> =
    // That the file reads is held by a test; without it every barrel would be the reference.
    LazyLock::new(|| serde_json::from_str(include_str!("../../../assets/shapes.json")).unwrap_or_default());

/// All of them.
#[must_use]
pub fn shapes() -> &'static [Shape] {
    &SHAPES
}

impl Shape {
    /// The shape that a label names, without regard to case, spaces and hyphens.
    #[must_use]
    pub fn named(label: &str) -> Option<&'static Shape> {
        let matches = |name: &str| letters(name).eq(letters(label));
        shapes().iter().find(|shape| matches(&shape.name) || shape.also.iter().any(|name| matches(name)))
    }

    /// The lying barrel that it is; none where its sizes are no barrel, which a test forbids.
    #[must_use]
    pub fn barrel(&self) -> Option<LyingBarrel> {
        LyingBarrel::new(self.bilge_mm, self.head_mm, self.length_mm).ok()
    }
}

/// The letters and digits of a name, small.
fn letters(name: &str) -> impl Iterator<Item = char> {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase)
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn every_shape_is_a_barrel_that_holds_its_litres() {
        assert!(shapes().len() >= 6);
        for shape in shapes() {
            let litres = shape.barrel().unwrap().litres();
            assert!((litres - shape.litres).abs() <= shape.litres * 1e-3, "{}: {litres}", shape.name);
            assert!(!shape.source.is_empty(), "{}", shape.name);
        }
    }

    #[test]
    fn no_name_means_two_shapes() {
        let mut seen = HashSet::new();
        for name in shapes().iter().flat_map(|shape| shape.also.iter().chain([&shape.name])) {
            assert!(seen.insert(letters(name).collect::<String>()), "{name}");
        }
    }

    #[test]
    fn a_shape_is_found_however_it_is_written() {
        let name = |label: &str| Shape::named(label).map(|shape| shape.name.as_str());
        for label in ["bordeaux", "Bordeaux", "BARRIQUE", "Barrique bordelaise"] {
            assert_eq!(name(label), Some("bordeaux"));
        }
        assert_eq!(
            [name("demi muid"), name("Demi-Muid"), name("Pièce")],
            [Some("demi-muid"), Some("demi-muid"), Some("burgundy")]
        );
        assert_eq!([name("egg"), name(""), name("bordeau")], [None, None, None]);
    }

    #[test]
    fn the_reference_is_the_reference() {
        assert_eq!(Shape::named("reference").and_then(Shape::barrel), Some(LyingBarrel::reference()));
    }

    /// Litres by name: a Bordeaux barrel 225 within 2 (Dictionnaire du vin), a Burgundy piece 228, a hogshead 300, a
    /// puncheon 500, a demi-muid 600 (trade descriptions).
    #[test]
    fn the_trade_knows_their_litres() {
        for (name, litres, within) in [
            ("bordeaux", 225.0, 2.0),
            ("burgundy", 228.0, 1.0),
            ("hogshead", 300.0, 1.0),
            ("puncheon", 500.0, 1.0),
            ("demi-muid", 600.0, 1.0),
        ] {
            let found = Shape::named(name).and_then(Shape::barrel).unwrap().litres();
            assert!((found - litres).abs() <= within, "{name}: {found}");
        }
    }

    /// The Bordeaux barrel from outside: length 910 to 945, head 555, bilge 690 mm, which is a girth of 2.17 m against
    /// 2.18 published (Dictionnaire du vin), staves 21 to 27 mm. Inside it lies between the thickest and the thinnest
    /// staves, and its heads lie as deep as a chime and a head are thick: 40 to 80 mm at each end.
    #[test]
    fn the_bordeaux_barrel_fits_into_its_outside() {
        let shape = Shape::named("bordeaux").unwrap();
        assert!((690.0 * std::f64::consts::PI - 2180.0).abs() < 15.0);
        for (inside, outside) in [(shape.bilge_mm, 690.0), (shape.head_mm, 555.0)] {
            assert!((42.0..=54.0).contains(&(outside - inside)));
        }
        assert!((40.0..=80.0).contains(&((945.0 - shape.length_mm) / 2.0)));
        // Outside sizes alone give the volume to about 4 %: staves of 21 and 27 mm lie that far apart.
        let litres =
            |stave: f64| LyingBarrel::new(690.0 - 2.0 * stave, 555.0 - 2.0 * stave, shape.length_mm).unwrap().litres();
        assert!((0.03..0.06).contains(&(litres(21.0) / litres(27.0) - 1.0)));
    }
}
