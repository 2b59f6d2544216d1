//! Vessels in one line: `181-210, Allier, medium, 2026`.

use std::ops::RangeInclusive;

use super::series::{add, series};
use super::{LineError, behind, count_of, parts, say};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::near::{meant, words};
use crate::cellar::core::place::Place;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Slot, State, Vessel};
use crate::cellar::jobs::floor::placing::VesselPlaced;
use crate::cellar::jobs::floor::vessel::{VesselRegistered, VesselType, Wood};
use crate::reckon::gauging::Shape;
use crate::units::{Volume, VolumeUnit, counted, litres};

/// What a barrel holds where nobody says it: the Bordeaux barrel, 225 L (Dictionnaire du vin).
const BARREL: Volume = Volume::from_litres(225);
/// In which years a barrel was made that lies in a cellar.
const MADE: RangeInclusive<u16> = 1950..=2100;
/// How a line is written.
const LIKE: &str = "181-210, Allier, medium, 2026, 225 L, of COOPER, at A-01-1-a";

/// Vessels as a line numbers them, with where they are to lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Numbered {
    /// The vessels; all alike but for their labels.
    pub vessels: Vec<VesselRegistered>,
    /// Where each lies, in the same order; nothing where they lie at no place.
    pub places: Vec<Place>,
}

/// What the parts of a line say.
#[derive(Default)]
struct Said {
    labels: Vec<Label>,
    vessel_type: Option<VesselType>,
    capacity: Option<Volume>,
    fills: Option<u32>,
    at: Option<String>,
    wood: Wood,
}

impl State {
    /// The vessels that a line numbers. Barrels come to free places in walking order, from one that is said or else from a slot on; where no
    /// room is laid out, to none.
    pub fn vessels_written(&self, line: &str, from: Option<Slot>) -> Result<Numbered, LineError> {
        let mut said = Said::default();
        for (at, part) in parts(line).enumerate() {
            self.read_part(part, at == 0, &mut said)?;
        }
        let Some(first) = said.labels.first() else { return Err(LineError::WhichNumbers) };
        let vessel_type = said.vessel_type.unwrap_or(VesselType::Barrel);
        let of_shape = said.wood.shape.as_ref().and_then(|shape| Shape::named(shape.as_str())?.barrel());
        let by_kind = (vessel_type == VesselType::Barrel)
            .then(|| of_shape.map_or(BARREL, |shape| Volume::from_litres(rounded(shape.litres()))));
        let capacity = said.capacity.or(by_kind).ok_or_else(|| LineError::HowLarge(first.clone()))?;
        let fills = said.fills.unwrap_or(0);
        let wood = &said.wood;
        let vessel = |label: &Label| VesselRegistered {
            vessel: label.clone(),
            vessel_type,
            capacity,
            topped: None,
            wood: wood.clone(),
            fills,
            stained: None,
        };
        let vessels: Vec<VesselRegistered> = said.labels.iter().map(vessel).collect();
        for vessel in &vessels {
            What::VesselRegistered(Box::new(vessel.clone())).deed().permitted(self, false)?;
        }
        let places = match (&said.at, vessel_type) {
            (Some(at), _) => self.free_places(Some(self.slot_written(at, from)?), vessels.len())?,
            (None, VesselType::Barrel) => self.free_places(from, vessels.len())?,
            (None, _) => Vec::new(),
        };
        Ok(Numbered { vessels, places })
    }

    fn read_part(&self, part: &str, is_first: bool, said: &mut Said) -> Result<(), LineError> {
        let lower = part.to_lowercase();
        let named = |text: &str| Ok::<Label, LineError>(Label::new(text)?);
        if is_first {
            // `K1 keg` is a keg, and no barrel with a strange label.
            let (labels, kind) = match part.rsplit_once(' ') {
                Some((labels, word)) if kind_of(&word.to_lowercase()).is_some() => {
                    (labels, kind_of(&word.to_lowercase()))
                }
                _ => (part, None),
            };
            if let Some(kind) = kind {
                say(&mut said.vessel_type, "What they are", kind)?;
            }
            for text in labels.split(" and ") {
                add(&mut said.labels, series(text)?)?;
            }
            return Ok(());
        }
        for (words, what, slot) in [
            (&["of", "by", "cooper"][..], "The cooper", &mut said.wood.cooper),
            (&["forest"], "The forest", &mut said.wood.forest),
            (&["toast"], "The toast", &mut said.wood.toast),
            (&["grain"], "The grain", &mut said.wood.grain),
        ] {
            if let Some(name) = behind(part, words) {
                return say(slot, what, named(name)?);
            }
        }
        if let Some(place) = behind(part, &["at", "from"]) {
            return say(&mut said.at, "The first place", place.to_owned());
        }
        if let Some(kind) = kind_of(&lower) {
            return say(&mut said.vessel_type, "What they are", kind);
        }
        match (lower.as_str(), count_of(&lower)) {
            ("new", _) => return say(&mut said.fills, "How often they were filled", 0),
            (_, Some((fills, "fill" | "fills"))) => {
                return say(&mut said.fills, "How often they were filled", u32::from(fills));
            }
            (_, Some((months, "month" | "months"))) => {
                return say(&mut said.wood.seasoning_months, "The seasoning", u32::from(months));
            }
            (_, Some((year, ""))) if MADE.contains(&year) => return say(&mut said.wood.made, "The year", year),
            _ => {}
        }
        if let Some(grain) = lower.strip_suffix(" grain") {
            return say(&mut said.wood.grain, "The grain", named(grain)?);
        }
        if lower.starts_with(|sign: char| sign.is_ascii_digit()) {
            if let Ok(labels) = series(part)
                && labels.len() > 1
            {
                return add(&mut said.labels, labels);
            }
            if let Ok(volume) = Volume::parse(part, VolumeUnit::customary())
                && lower.ends_with(|sign: char| sign.is_alphabetic())
            {
                return match said.capacity.replace(volume) {
                    Some(first) => say(&mut Some(litres(first)), "What each holds", litres(volume)),
                    None => Ok(()),
                };
            }
        }
        self.read_word(part, said)
    }

    /// A word alone is told apart by what is known: forests, toasts, shapes, and the words that this cellar used before.
    fn read_word(&self, part: &str, said: &mut Said) -> Result<(), LineError> {
        let label = Label::new(part)?;
        let lower = part.to_lowercase();
        let is_one = |known: &[String]| known.iter().any(|word| word.to_lowercase() == lower);
        let was_used = |of: fn(&Vessel) -> Option<&Label>| {
            self.vessels.iter().any(|(_, vessel)| of(vessel).is_some_and(|used| used.as_str().to_lowercase() == lower))
        };
        if is_one(&words().toasts) || was_used(|vessel| vessel.wood.toast.as_ref()) {
            return say(&mut said.wood.toast, "The toast", label);
        }
        if is_one(&words().forests) || was_used(|vessel| vessel.wood.forest.as_ref()) {
            return say(&mut said.wood.forest, "The forest", label);
        }
        if matches!(lower.as_str(), "fine" | "tight" | "coarse") || was_used(|vessel| vessel.wood.grain.as_ref()) {
            return say(&mut said.wood.grain, "The grain", label);
        }
        if was_used(|vessel| vessel.wood.cooper.as_ref()) {
            return say(&mut said.wood.cooper, "The cooper", label);
        }
        if Shape::named(part).is_some() {
            return say(&mut said.wood.shape, "The shape", label);
        }
        let trade = words().forests.iter().chain(&words().toasts).map(String::as_str);
        match meant(part, std::iter::empty, trade) {
            Some(known) => Err(LineError::Near { word: part.to_owned(), known: known.to_owned() }),
            None => Err(LineError::Unknown { word: part.to_owned(), like: LIKE }),
        }
    }

    /// The slot of a place as it is written, in the room of another slot where it names none.
    fn slot_written(&self, text: &str, from: Option<Slot>) -> Result<Slot, LineError> {
        let here = from.or_else(|| self.rooms.iter().next().map(|(room, _)| Slot { room, index: 0 }));
        let full = match here {
            Some(slot) if !text.contains('/') => format!("{}/{text}", self.rooms.get(slot.room).label),
            _ => text.to_owned(),
        };
        let place: Place = full.parse()?;
        let room = self.room(&place.rack.room)?;
        let index = self.rooms.get(room).slot(&place).ok_or_else(|| Refusal::UnknownPlace(place.clone()))?;
        Ok(Slot { room, index: u32::try_from(index).unwrap_or(u32::MAX) })
    }

    /// So many free places in walking order, from a slot on through its room and the rooms after it; none where no room is laid out.
    fn free_places(&self, from: Option<Slot>, wanted: usize) -> Result<Vec<Place>, LineError> {
        if self.rooms.is_empty() {
            return Ok(Vec::new());
        }
        let rooms = self.rooms.iter().skip_while(|(id, _)| from.is_some_and(|from| from.room != *id));
        let free = rooms.flat_map(|(id, room)| {
            let first = from.filter(|from| from.room == id).map_or(0, |from| from.index as usize);
            let slots = room.slots.iter().enumerate().skip(first).filter(|(_, vessel)| vessel.is_none());
            slots.filter_map(|(index, _)| room.place(index))
        });
        let places: Vec<Place> = free.take(wanted).collect();
        if places.len() < wanted {
            return Err(LineError::TooFewPlaces { vessels: wanted, free: places.len() });
        }
        Ok(places)
    }
}

/// Whole litres.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a shape holds some hundreds of litres
fn rounded(litres: f64) -> u64 {
    litres.round().clamp(0.0, 10_000.0) as u64
}

impl Numbered {
    /// The facts: each vessel is registered, and lies where it is to.
    #[must_use]
    pub fn whats(&self) -> Vec<What> {
        let registered = self.vessels.iter().map(|vessel| What::VesselRegistered(Box::new(vessel.clone())));
        let placed = self.vessels.iter().zip(&self.places).map(|(vessel, place)| {
            What::VesselPlaced(VesselPlaced { vessel: vessel.vessel.clone(), place: Some(place.clone()) })
        });
        registered.chain(placed).collect()
    }

    /// What they are called.
    pub fn labels(&self) -> impl Iterator<Item = &Label> {
        self.vessels.iter().map(|vessel| &vessel.vessel)
    }

    /// How many of what they are, and which: `30 barrels, 181 to 210`.
    #[must_use]
    pub fn which(&self) -> String {
        let (Some(first), Some(last)) = (self.vessels.first(), self.vessels.last()) else { return String::new() };
        let kind = first.vessel_type;
        match self.vessels.len() {
            1 => format!("{kind} {}", first.vessel),
            many => format!("{}, {} to {}", counted(many, &kind.to_string()), first.vessel, last.vessel),
        }
    }

    /// What each is: `225 L, Allier, medium toast, made 2026, new`.
    #[must_use]
    pub fn described(&self) -> String {
        let Some(vessel) = self.vessels.first() else { return String::new() };
        let wood = &vessel.wood;
        let is_barrel = vessel.vessel_type == VesselType::Barrel;
        let fills = match vessel.fills {
            0 => "new".to_owned(),
            fills => format!("filled {} before", counted(fills, "time")),
        };
        let words = [
            Some(litres(vessel.capacity)),
            wood.shape.as_ref().map(ToString::to_string),
            wood.forest.as_ref().map(ToString::to_string),
            wood.grain.as_ref().map(|grain| format!("{grain} grain")),
            wood.seasoning_months.map(|months| format!("seasoned {}", counted(months, "month"))),
            wood.toast.as_ref().map(|toast| format!("{toast} toast")),
            wood.made.map(|year| format!("made {year}")),
            wood.cooper.as_ref().map(|cooper| format!("of {cooper}")),
            is_barrel.then_some(fills),
        ];
        words.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    /// Where they are to lie.
    #[must_use]
    pub fn where_they_lie(&self) -> String {
        match (self.places.first(), self.places.last()) {
            (Some(first), Some(last)) if self.places.len() > 1 => format!("From {first} to {last}."),
            (Some(only), _) => format!("At {only}."),
            _ => "Not on the map.".to_owned(),
        }
    }
}

/// What a word says that vessels are.
fn kind_of(word: &str) -> Option<VesselType> {
    match word {
        "barrel" | "barrels" => Some(VesselType::Barrel),
        "tank" | "tanks" => Some(VesselType::Tank),
        "keg" | "kegs" => Some(VesselType::Keg),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Result<Numbered, String> {
        State::default().vessels_written(line, None).map_err(|error| error.to_string())
    }

    #[test]
    fn barrels_are_read_from_a_line_in_any_order() {
        for line in [
            "181-210, Allier, medium, 2026, of Rabe",
            "181 to 210, 2026, medium, of Rabe, allier",
            "181-190, forest Allier, toast medium, 225 L, 191-210, made 2026, cooper Rabe",
        ] {
            let line = line.replace("made 2026", "2026");
            let numbered = read(&line).unwrap();
            assert_eq!(numbered.which(), "30 barrels, 181 to 210", "{line}");
            let described = numbered.described().replace("allier", "Allier");
            assert_eq!(described, "225.0 L, Allier, medium toast, made 2026, of Rabe, new", "{line}");
            assert_eq!((numbered.whats().len(), numbered.where_they_lie().as_str()), (30, "Not on the map."));
        }
    }

    #[test]
    fn kegs_and_tanks_and_barrels_of_other_sizes_are_read() {
        for (line, expected) in [
            ("K1, keg, 50 L", "keg K1: 50.0 L"),
            ("K1 keg, 50 L", "keg K1: 50.0 L"),
            ("T1 and T2 tanks, 20 hL", "2 tanks, T1 to T2: 2000.0 L"),
            ("T1-T2, tank, 20 hL", "2 tanks, T1 to T2: 2000.0 L"),
            (
                "1-2, 2 fills, 300 L, fine grain, 36 months",
                "2 barrels, 1 to 2: 300.0 L, fine grain, seasoned 36 months, filled 2 times before",
            ),
            ("F-01 to F-03, puncheon", "3 barrels, F-01 to F-03: 500.0 L, puncheon, new"),
        ] {
            let numbered = read(line).unwrap();
            assert_eq!(format!("{}: {}", numbered.which(), numbered.described()), expected, "{line}");
        }
    }

    #[test]
    fn what_is_not_told_apart_is_said() {
        for (line, expected) in [
            ("", "Which numbers?"),
            ("1-3, Trnçais", "Tronçais for 'Trnçais'?"),
            ("1-3, sunshine", "'sunshine' is not understood."),
            ("1-3, Allier, Vosges", "The forest is said twice"),
            ("1-3, 225 L, 228 L", "What each holds is said twice"),
            ("1-3 and 2", "'2' stands there twice."),
            ("T1, tank", "How much does T1 hold?"),
            ("1-3, at A-01-1-a", "'A-01-1' is not a place."),
        ] {
            let said = read(line).unwrap_err();
            assert!(said.starts_with(expected), "{line}: {said}");
        }
    }
}
