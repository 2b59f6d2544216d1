//! Houses to simulate, from the published figures.

use barrelwalk::reckon::headspace::Climate;

/// The air and the house of a simulated room.
#[derive(Clone, Debug)]
pub struct House {
    pub name: &'static str,
    pub seed: u64,
    pub barrels: usize,
    pub rounds: usize,
    /// Millilitres a day from a 225 L barrel in the mean of the year, and the part by which the season swings.
    pub rate_ml: f64,
    pub season: f64,
    /// When the rate is highest, day of the year.
    pub peak: f64,
    /// How far the rate of a day strays with the weather, in runs of some two weeks.
    pub weather: f64,
    pub climate: Climate,
    /// Deviation of the logarithm of a barrel's factor.
    pub factor_spread: f64,
    pub interval: f64,
    /// Litres: what an opening strays by however long the interval, and the variance that comes with each litre lost.
    pub lump: f64,
    pub lump_a_litre: f64,
    /// Degrees by which the wine's warmth strays from round to round.
    pub warmth: f64,
    /// Litres to which the can is read.
    pub reading: f64,
    /// The part of the barrels that is missed in a round, and the part of the rounds that is left out.
    pub missed: f64,
    pub no_round: f64,
    /// The part of the barrels that is new, and the part that is large.
    pub new_wood: f64,
    pub large: f64,
    /// From this round on another hand tops: so many litres more each time, and so many times as unsteady.
    pub hand: Option<(usize, f64, f64)>,
    /// From this round on so many of the barrels drink so many times what they did.
    pub leaks: Option<(usize, usize, f64)>,
}

impl House {
    /// Above ground, temperate, a careful hand: 28 mL a day, 4.5 % a year, the published mean.
    pub fn usual() -> House {
        House {
            name: "usual",
            seed: 1,
            barrels: 120,
            rounds: 26,
            rate_ml: 28.0,
            season: 0.3,
            peak: 208.0,
            weather: 0.08,
            climate: Climate { temperature_c: Some(15.0), humidity_pct: Some(70.0) },
            factor_spread: 0.22,
            interval: 21.0,
            lump: 0.06,
            lump_a_litre: 0.02,
            warmth: 0.4,
            reading: 0.05,
            missed: 0.01,
            no_round: 0.0,
            new_wood: 0.0,
            large: 0.0,
            hand: None,
            leaks: None,
        }
    }
}

/// A stated climate.
pub fn air(temperature: f64, humidity: f64) -> Climate {
    Climate { temperature_c: Some(temperature), humidity_pct: Some(humidity) }
}

/// A US gallon a year from a barrel, millilitres a day.
const GALLON_A_YEAR: f64 = 3_785.411_784 / 365.25;

/// Rooms of the published rates: 1 % a year in damp, 20 mL a day, 4 to 5 % in the mean, 9 % in dry, warm air; four gallons
/// a year above ground against one in a cave.
pub fn climates() -> Vec<House> {
    let house = House::usual;
    vec![
        house(),
        House {
            name: "dry and warm",
            seed: 2,
            rate_ml: 55.0,
            season: 0.42,
            climate: air(18.0, 60.0),
            reading: 0.1,
            ..house()
        },
        House {
            name: "four gallons",
            seed: 3,
            rate_ml: 4.0 * GALLON_A_YEAR,
            season: 0.4,
            climate: Climate::default(),
            ..house()
        },
        House {
            name: "twenty millilitres",
            seed: 5,
            rate_ml: 20.0,
            season: 0.15,
            climate: Climate::default(),
            interval: 28.0,
            ..house()
        },
        House { name: "one gallon", seed: 4, rate_ml: GALLON_A_YEAR, season: 0.1, climate: air(13.0, 85.0), ..house() },
        House { name: "damp", seed: 6, rate_ml: 6.2, season: 0.1, climate: air(13.0, 92.0), interval: 30.0, ..house() },
        House { name: "southern", seed: 15, peak: 25.0, season: 0.4, ..house() },
    ]
}

/// Other hands, other habits, in the usual air.
pub fn habits() -> Vec<House> {
    let house = House::usual;
    vec![
        House { name: "lumpy", seed: 7, lump: 0.15, lump_a_litre: 0.04, ..house() },
        House { name: "careful", seed: 8, lump: 0.03, lump_a_litre: 0.005, ..house() },
        House { name: "small", seed: 9, barrels: 12, rounds: 60, ..house() },
        House { name: "large", seed: 10, barrels: 600, ..house() },
        House { name: "missed barrels and rounds", seed: 11, missed: 0.15, no_round: 0.15, ..house() },
        House { name: "new wood", seed: 12, new_wood: 0.5, interval: 10.0, rounds: 40, ..house() },
        House { name: "puncheons among barrels", seed: 13, large: 0.4, ..house() },
        House { name: "another hand", seed: 14, hand: Some((13, 0.08, 1.6)), ..house() },
        House { name: "unlike barrels", seed: 16, factor_spread: 0.3, ..house() },
        House { name: "wild weather", seed: 17, weather: 0.2, warmth: 1.0, ..house() },
        House { name: "rolled", seed: 18, interval: 100.0, rounds: 14, rate_ml: 35.0, ..house() },
        House { name: "weekly", seed: 19, interval: 7.0, rounds: 60, ..house() },
    ]
}
