//! Amounts as people read them: never more digits than are known. One function for each way of reading, for every sentence and
//! every page; what a program reads gets the whole number instead.

use super::{DecimalMark, Mass, Volume, VolumeUnit, decimal};

/// A tenth of a litre.
const TENTH: Volume = Volume::from_ml(100);

/// Litres to a tenth: what a vessel holds, an estimate, a sum. `12.3 L`.
#[must_use]
pub fn litres(volume: Volume) -> String {
    volume.say(1)
}

/// Litres to a tenth, rounded down, so that no more is promised than there is; less than a tenth in whole millilitres.
#[must_use]
pub fn litres_at_most(volume: Volume) -> String {
    stepped(volume, |volume, step| volume / step)
}

/// Litres to a tenth, rounded up, so that no less is asked for than is needed; less than a tenth in whole millilitres.
#[must_use]
pub fn litres_at_least(volume: Volume) -> String {
    stepped(volume, u64::div_ceil)
}

fn stepped(volume: Volume, steps: impl Fn(u64, u64) -> u64) -> String {
    let whole = |step: Volume| Volume::from_ul(steps(volume.as_ul(), step.as_ul()).saturating_mul(step.as_ul()));
    if volume < TENTH { millilitres(whole(Volume::from_ml(1))) } else { litres(whole(TENTH)) }
}

/// Whole litres: what a barrel or a tank can hold. `228 L`.
#[must_use]
pub fn whole_litres(volume: Volume) -> String {
    volume.say(0)
}

/// Litres as whoever pours them measures: to a tenth, below ten to a hundredth where it was read so closely, below one whole
/// millilitres. `12.3 L`, `1.25 L`, `1.2 L`, `250 mL`.
#[must_use]
pub fn poured(volume: Volume) -> String {
    if volume.is_zero() || volume >= Volume::from_litres(10) {
        return litres(volume);
    }
    if volume < Volume::from_litres(1) {
        return millilitres(volume);
    }
    let (unit, decimals) = VolumeUnit::said(volume, 2);
    let hundredths = volume.show_number(unit, decimals);
    let read = hundredths.strip_suffix('0').unwrap_or(&hundredths);
    format!("{} {}", as_written(read), unit.symbol())
}

/// Litres where there is little room for them: millilitres below one, from a thousand on whole ones.
#[must_use]
pub fn short_litres(volume: Volume) -> String {
    match volume {
        volume if volume.is_zero() => litres(volume),
        volume if volume < Volume::from_litres(1) => millilitres(volume),
        volume if volume < Volume::from_litres(1_000) => litres(volume),
        volume => whole_litres(volume),
    }
}

/// Whole millilitres: a glass, a sample, a bottle's fill. `250 mL`.
#[must_use]
pub fn millilitres(volume: Volume) -> String {
    volume.show(VolumeUnit::Millilitre, 0)
}

/// Millilitres with as many decimals as they have: what a syringe or a legal tolerance is held to. `50 mL`, `11.25 mL`.
#[must_use]
pub fn exact_millilitres(volume: Volume) -> String {
    let thousandths = volume.show_number(VolumeUnit::Millilitre, 3);
    format!("{} {}", as_written(without_noughts(&thousandths)), VolumeUnit::Millilitre.symbol())
}

/// A weight to three figures, without noughts that nobody weighed, below a gram in milligrams: `1203 g`, `95.3 g`, `7.81 g`,
/// `5 g`, `250 mg`.
#[must_use]
pub fn weighed(mass: Mass) -> String {
    const GRAM: u64 = 1_000_000;
    const MILLIGRAM: u64 = 1_000;
    let micrograms = mass.as_ug();
    // What is rounded up to a gram is one.
    let (size, unit) = if micrograms == 0 || micrograms >= GRAM - 500 { (GRAM, "g") } else { (MILLIGRAM, "mg") };
    let decimals = match micrograms.saturating_mul(1_000) / size {
        99_950.. => 0,
        9_995.. => 1,
        _ => 2,
    };
    let number = decimal::show(u128::from(micrograms), u128::from(size), decimals);
    format!("{} {unit}", as_written(without_noughts(&number)))
}

/// A number that is written with a point, with the decimal sign that is customary here.
fn as_written(number: &str) -> String {
    DecimalMark::customary().written(number)
}

/// A real number as it is told, with the decimal sign that is customary here: `3.52`, `3,52`.
#[must_use]
pub fn figure(number: f64) -> String {
    as_written(&number.to_string())
}

/// A real number to so many decimals, with the decimal sign that is customary here: `3.5`, `3,50`.
#[must_use]
pub fn figure_to(decimals: usize, number: f64) -> String {
    as_written(&format!("{number:.decimals$}"))
}

/// A part of a whole in hundredths to so many decimals, with the decimal sign that is customary here: `12.5 %`.
#[must_use]
pub fn percent(decimals: usize, share: f64) -> String {
    format!("{} %", figure_to(decimals, share * 100.0))
}

/// A number without noughts at the end of its decimals.
fn without_noughts(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn litres_are_told_as_closely_as_they_are_known() {
        assert_eq!([0, 1_749_999, 12_345_678].map(|it| litres(Volume::from_ul(it))), ["0.0 L", "1.7 L", "12.3 L"]);
        assert_eq!(whole_litres(Volume::from_ml(227_500)), "228 L");
    }

    #[test]
    fn litres_are_rounded_to_the_side_that_promises_nothing() {
        let volumes = [12_360_000, 12_300_000, 99_100].map(Volume::from_ul);
        assert_eq!(volumes.map(litres_at_most), ["12.3 L", "12.3 L", "99 mL"]);
        assert_eq!(volumes.map(litres_at_least), ["12.4 L", "12.3 L", "100 mL"]);
        assert_eq!([50_000, 11_250].map(|it| exact_millilitres(Volume::from_ul(it))), ["50 mL", "11.25 mL"]);
    }

    #[test]
    fn what_is_poured_is_told_as_it_is_measured() {
        let told = [0, 250, 999, 1_000, 1_250, 4_879, 9_999, 10_000, 968_040].map(|it| poured(Volume::from_ml(it)));
        let expected = ["0.0 L", "250 mL", "999 mL", "1.0 L", "1.25 L", "4.88 L", "10.0 L", "10.0 L", "968.0 L"]
            .map(str::to_owned);
        assert_eq!(told, expected);
        assert_eq!(short_litres(Volume::from_ml(5_130_200)), "5130 L");
    }

    #[test]
    fn weights_have_three_figures() {
        let told = [0, 4_000, 81_300, 250_000, 999_600, 7_812_000, 9_996_000, 95_340_000, 1_203_400_000];
        let expected =
            ["0 g", "4 mg", "81.3 mg", "250 mg", "1 g", "7.81 g", "10 g", "95.3 g", "1203 g"].map(str::to_owned);
        assert_eq!(told.map(|it| weighed(Mass::from_ug(it))), expected);
    }
}
