//! What is said of the finish: fining.

use crate::reckon::fining::{EGG_WHITES_A_BARREL, EGG_WHITES_IN_BRINE, Watered, egg_whites};
use crate::reckon::material::{WATER_FIGURE, WATER_SECTION};
use crate::units::{Volume, figure};

/// That the water of all additions comes to more than their figure (27 CFR 24.246) with a fining, and which stock would stay within it;
/// nothing where it does not.
#[must_use]
pub fn too_much_water(water: &Watered) -> Option<String> {
    if !water.is_above_figure() {
        return None;
    }
    let figure_of_all = format!("the {} % of {WATER_SECTION}", WATER_FIGURE * 100.0);
    let above = if water.before > 0.0 {
        let share = |share: f64| figure((share * 10_000.0).round() / 100.0);
        let (before, all) = (share(water.before), share(water.share));
        format!("With the water of earlier additions ({before} %) it comes to {all} %, above {figure_of_all}.")
    } else {
        format!("The stock alone is above {figure_of_all}, which counts the water of all additions together.")
    };
    // Rounded up, so that the stock that is named keeps within it.
    let stronger = water.weakest_stock_pct.map_or_else(
        || "Make it up in the wine itself.".to_owned(),
        |weakest| {
            let weakest = figure((weakest * 100.0).ceil() / 100.0);
            format!("Make it up to at least {weakest} %, or in the wine itself.")
        },
    );
    Some(format!("{above} {stronger}"))
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
    use crate::reckon::fining::Fining;

    /// 27 CFR 24.246: at most one percent of water. 0.75 g/L of a stock of 5 % is 15 mL/L, of one of 7.5 % just 10.
    #[test]
    fn the_stock_that_is_named_keeps_within_the_figure() {
        let told = |stock| {
            let fining = Fining::new(0.7501, stock).unwrap();
            too_much_water(&fining.watered(Volume::from_litres(225), Volume::ZERO))
        };
        assert!(told(5.0).unwrap().contains("at least 7.51 %"), "{:?}", told(5.0));
        assert_eq!(told(7.51), None);
    }

    #[test]
    fn the_water_of_earlier_additions_is_told() {
        let told =
            |before| too_much_water(&Fining::new(0.25, 5.0).unwrap().watered(Volume::from_litres(1_008), before));
        assert_eq!(
            told(Volume::from_litres(8)).unwrap(),
            "With the water of earlier additions (0.8 %) it comes to 1.3 %, above the 1 % of 27 CFR 24.246(a)(2). Make it up to at least 12.6 %, \
             or in the wine itself."
        );
        assert!(told(Volume::from_litres(20)).unwrap().ends_with(" Make it up in the wine itself."));
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
