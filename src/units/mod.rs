//! Quantities: whole microlitres and micrograms, the units people write them in, and the exact split of a whole.

mod apportion;
mod count;
mod customary;
mod decimal;
mod dose_rate;
mod length;
mod mass;
mod said;
mod shares;
mod volume;

pub use apportion::{Parts, apportion, apportion_in_place};
pub use count::{all_of, by_count, counted, one_of, plural};
pub use customary::{Customary, DateForm, DecimalMark, customary, customary_words, in_heading, settle};
pub use decimal::{ParseDecimalError, parse_decimal};
pub use dose_rate::{
    ParseAmountError, ParseDoseError, SaidAmount, parse_amount, parse_dose, pounds_in_1000_gallons, said_dose,
    three_figures,
};
pub use length::{ParseLengthError, names_a_length, parse_millimetres};
pub use mass::{Mass, ParseMassError};
pub use said::{
    exact_millilitres, figure, figure_to, litres, litres_at_least, litres_at_most, millilitres, percent, poured,
    short_litres, weighed, whole_litres,
};
pub use shares::{ParsePercentError, Shares, SharesError, parse_percent, points, show_percent, show_percent_rounded};
pub use volume::{ParseVolumeError, Volume, VolumeUnit};
