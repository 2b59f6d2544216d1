//! Wood: what a barrel is made of. The coopers are invented, the forests are where oak grows.

use serde_json::json;

use super::chance::Chance;
use super::vessel::{Kind, LITRE, Vessel};

const COOPERS: [&str; 6] = ["Ardouvet", "Besquerin", "Holmstave", "Lorvanne", "Orsettine & Daughters", "Pellarac"];
const FORESTS: [&str; 7] = ["Allier", "Tronçais", "Nevers", "Bertranges", "Vosges", "Centre", "Limousin"];
const TOASTS: [&str; 6] = ["light", "medium", "medium", "medium plus", "medium plus", "heavy"];
const GRAINS: [&str; 4] = ["extra fine", "fine", "fine", "medium"];
const SEASONINGS: [u64; 4] = [24, 24, 30, 36];

/// What a barrel of this shape holds, and what it costs new.
fn measures(shape: &str) -> (u64, u64) {
    match shape {
        "burgundy" => (228, 870),
        "hogshead" => (300, 980),
        "puncheon" => (500, 1_480),
        _ => (225, 840),
    }
}

/// A barrel of this shape that had `fills` wines before it came onto the book in the year `year`.
pub fn barrel(chance: &mut Chance, label: String, shape: &str, fills: u64, year: u64) -> Vessel {
    let (litres, price) = measures(shape);
    let half_litres = litres * 2 + chance.whole(0, 4);
    let mut vessel = Vessel::new(label, Kind::Barrel, (half_litres - 1) * LITRE / 2);
    let forest = *chance.pick(&FORESTS);
    let seasoning = if forest == "Tronçais" { 36 } else { *chance.pick(&SEASONINGS) };
    vessel.wood = json!({
        "shape": shape,
        "cooper": chance.pick(&COOPERS),
        "forest": forest,
        "grain": if forest == "Limousin" { "coarse" } else { chance.pick(&GRAINS) },
        "seasoning_months": seasoning,
        "toast": chance.pick(&TOASTS),
        "heads_toasted": chance.happens(0.3),
        "made": year - fills,
        "price": (price + 10 * chance.whole(0, 14) + if forest == "Tronçais" { 120 } else { 0 }) as f64,
    });
    vessel.fills = fills;
    vessel.thirst = libm::exp(chance.normal(-0.02, 0.2));
    vessel.charm = chance.normal(0.0, 0.5);
    vessel
}
