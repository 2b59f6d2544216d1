//! What is said of the finish: fining.

use crate::reckon::fining::{EGG_WHITES_A_BARREL, EGG_WHITES_IN_BRINE, Fining, Given, egg_whites};
use crate::reckon::material::{WATER_FIGURE, WATER_SECTION};
use crate::units::Volume;

/// That a fining brings more water than the figure for all additions together (27 CFR 24.246), and which stock would stay within it;
/// nothing where it does not.
#[must_use]
pub fn too_much_water(fining: &Fining, given: &Given) -> Option<String> {
    let percent = WATER_FIGURE * 100.0;
    // Rounded up, so that the stock that is named keeps within it.
    let weakest = (fining.weakest_stock_pct() * 100.0).ceil() / 100.0;
    given.is_above_water_figure().then(|| {
        format!(
            "The stock alone is above the {percent} % of {WATER_SECTION}, which counts the water of all additions together. Make it up to \
             at least {weakest} %, or in the wine itself."
        )
    })
}

/// How many whites of egg some wine takes.
#[must_use]
pub fn whites_of_egg(wine: Volume) -> String {
    let (least, most) = egg_whites(wine);
    let (from, to) = EGG_WHITES_A_BARREL;
    let (brine_from, brine_to) = EGG_WHITES_IN_BRINE;
    format!(
        "Whites of egg for so much wine: {least:.0} to {most:.0} ({from} to {to} a barrel, common practice). In light brine {brine_from} to \
         {brine_to} a barrel come to the 1.5 L in 1000 L of 27 CFR 24.246 (2015; re-issued 2022)."
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 27 CFR 24.246: at most one percent of water. 0.75 g/L of a stock of 5 % is 15 mL/L, of one of 7.5 % just 10.
    #[test]
    fn the_stock_that_is_named_keeps_within_the_figure() {
        let told = |stock| {
            let fining = Fining::new(0.7501, stock).unwrap();
            too_much_water(&fining, &fining.given_to(Volume::from_litres(225)).unwrap())
        };
        assert!(told(5.0).unwrap().contains("at least 7.51 %"), "{:?}", told(5.0));
        assert_eq!(told(7.51), None);
    }

    #[test]
    fn whites_of_egg_are_told_by_the_barrel() {
        let told = whites_of_egg(Volume::from_litres(450));
        assert!(
            told.starts_with("Whites of egg for so much wine: 8 to 12 (4 to 6 a barrel, common practice)."),
            "{told}"
        );
        assert!(
            told.contains("In light brine 2 to 2.5 a barrel come to the 1.5 L in 1000 L of 27 CFR 24.246"),
            "{told}"
        );
    }
}
