//! What a panel's table says, in sentences; the numbers stand beside.

use super::groups::Apart;
use super::probability::{LEVEL, two_figures};
use super::rank_test::RankTest;
use super::table::Given;
use super::{Analysis, NoAgreement, TasterNote};
use crate::units::{by_count, figure, figure_to, plural};

/// A probability below this is told as that.
const LEAST_TOLD: f64 = 1e-9;
/// More names than these are counted, not told.
const MOST_NAMES: usize = 6;

/// The sentences, the most important first.
#[must_use]
pub fn words(analysis: &Analysis) -> Vec<String> {
    let mut words = Vec::new();
    match &analysis.test {
        Err(why) => words.push(why.to_string()),
        Ok(test) => {
            words.extend(headline(analysis, test));
            words.extend(points(analysis, test));
        }
    }
    words.extend(untasted(&analysis.untasted));
    words.extend(analysis.tasters.iter().filter_map(|taster| of_taster(analysis, taster)));
    words.extend(agreement_of_panel(analysis));
    words.extend(repeats(analysis));
    words
}

/// What the orders say of the glasses.
fn headline(analysis: &Analysis, test: &RankTest) -> Vec<String> {
    let p = probability(test.probability.p);
    if analysis.least_probability > LEVEL {
        let tasters = count(analysis.tasters.len(), "taster");
        return vec![format!(
            "Nothing can be told here: {tasters} of these glasses could not have shown any order that chance would not bring \
             as easily (at best {}). Let more people taste.",
            probability(analysis.least_probability)
        )];
    }
    if !test.probability.tells() {
        return vec![
            format!("Nothing here tells these glasses apart: chance alone would bring orders as far apart ({p})."),
            "That does not make them alike; it may be that the panel is too small for what lies between them."
                .to_owned(),
        ];
    }
    let codes = Codes(analysis);
    let apart = analysis.told_apart();
    if apart.any() {
        return codes.describe(&apart, p.as_str());
    }
    let mut words = vec![format!(
        "The glasses are not all alike ({p}), but no two of them can be told apart once the {} are held back for their number.",
        count(analysis.standings.len() * analysis.standings.len().saturating_sub(1) / 2, "comparison")
    )];
    let each = analysis.told_apart_each_by_itself();
    if each.any() {
        words.push(format!(
            "Each pair taken by itself, as ISO 8587 does: {}",
            codes.describe(&each, "some of it may be chance").join(" ")
        ));
    }
    words
}

/// The glasses of an analysis in sentences.
struct Codes<'a>(&'a Analysis);

impl Codes<'_> {
    /// What is told apart, with a remark in brackets behind the first sentence.
    fn describe(&self, apart: &Apart, remark: &str) -> Vec<String> {
        let order: Vec<usize> = self.0.standings.iter().map(|it| it.glass).collect();
        let told = |one: usize, other: usize| apart.between(order[one], order[other]);
        let all = order.len();
        let is_cut = |&at: &usize| (0..at).all(|above| (at..all).all(|below| told(above, below)));
        let cuts: Vec<usize> = (1..all).filter(is_cut).collect();
        let above = cuts.iter().copied().find(|&at| at * 2 <= all);
        let below = cuts.iter().copied().rfind(|&at| at * 2 > all || (at * 2 == all && above != Some(at)));
        let mut words = Vec::new();
        if let Some(at) = above {
            let stand = by_count(at, "stands", "stand");
            words.push(format!("{} {stand} above the rest ({remark}).", self.named(0..at)));
            words.extend(inside(at, &told));
        }
        if let Some(at) = below {
            let fall = by_count(all - at, "falls", "fall");
            let remark = if above.is_none() { format!(" ({remark})") } else { String::new() };
            words.push(format!("{} {fall} below the rest{remark}.", self.named(at..all)));
        }
        if words.is_empty() { vec![self.overlapping(&told, remark)] } else { words }
    }

    /// Where no line can be drawn between two groups: what the best is told from, or else some pairs.
    fn overlapping(&self, told: &impl Fn(usize, usize) -> bool, remark: &str) -> String {
        let all = self.0.standings.len();
        let below_best: Vec<usize> = (0..all).filter(|&place| told(0, place)).collect();
        if below_best.is_empty() {
            let pairs = (0..all).flat_map(|other| (0..other).map(move |one| (one, other)));
            let pairs: Vec<String> = pairs
                .filter(|&(one, other)| told(one, other))
                .map(|(one, other)| format!("{} from {}", self.code(one), self.code(other)))
                .collect();
            return format!("Told apart: {} ({remark}); of the rest nothing can be said.", listed(&pairs));
        }
        let same = |place: &usize| (0..all).all(|other| told(*place, other) == told(0, other));
        let best: Vec<usize> = (0..all).take_while(same).collect();
        let between: Vec<usize> =
            (0..all).filter(|place| !best.contains(place) && !below_best.contains(place)).collect();
        let codes = |places: &[usize]| listed(&places.iter().map(|&place| self.code(place)).collect::<Vec<_>>());
        let stand = (by_count(best.len(), "Glass", "Glasses"), by_count(best.len(), "stands", "stand"));
        let above = format!("{} {} {} above {} ({remark})", stand.0, codes(&best), stand.1, codes(&below_best));
        if between.is_empty() {
            return format!("{above}.");
        }
        let them = by_count(best.len(), "it", "them");
        format!("{above}; {} can't be told from {them}.", codes(&between))
    }

    fn code(&self, place: usize) -> String {
        self.0.standings[place].code.clone()
    }

    /// "Glass 412", or "Three glasses, 412, 207 and 931,".
    fn named(&self, places: std::ops::Range<usize>) -> String {
        let number = places.len();
        let codes: Vec<String> = places.map(|place| self.code(place)).collect();
        match codes.as_slice() {
            [one] => format!("Glass {one}"),
            _ => format!("{} glasses, {},", capital(&number_word(number)), listed(&codes)),
        }
    }
}

/// What can be said among the glasses above the rest.
fn inside(number: usize, told: &impl Fn(usize, usize) -> bool) -> Option<String> {
    let among = |one: usize| (0..one).any(|other| told(one, other));
    match number {
        0 | 1 => None,
        2 => Some("The two can't be told apart.".to_owned()),
        _ if !(0..number).any(among) => Some("Among themselves they can't be told apart.".to_owned()),
        _ if told(0, 1) => None,
        _ => Some("The first two can't be told apart.".to_owned()),
    }
}

/// Where the scores as points say something else than the orders.
fn points(analysis: &Analysis, test: &RankTest) -> Option<String> {
    let glass = analysis.two_way.as_ref()?.as_ref().ok()?.glass;
    let p = probability(glass.p);
    match (test.probability.tells(), glass.p <= LEVEL) {
        (false, true) => Some(format!(
            "The points alone would make the glasses differ ({p}), but the tasters' orders do not bear it out: points weigh \
             a taster of wide steps more. Do not build on it."
        )),
        (true, false) => {
            Some(format!("The points alone do not bear it out ({p}); the words above rest on the orders."))
        }
        _ => None,
    }
}

fn untasted(codes: &[String]) -> Option<String> {
    match codes {
        [] => None,
        [one] => Some(format!("Nobody tasted glass {one}.")),
        many => Some(format!("Nobody tasted glasses {}.", listed(many))),
    }
}

/// What must be known of a taster.
fn of_taster(analysis: &Analysis, taster: &TasterNote) -> Option<String> {
    let name = &taster.name;
    match &taster.agreement {
        _ if taster.tasted > 1 && taster.deviation.is_some_and(|it| it <= 0.0) && analysis.tasters.len() > 1 => {
            Some(format!("{name} gave every glass the same, which says nothing of them."))
        }
        Ok(found) if found.high < 0.0 => Some(format!(
            "{name} goes against the rest: correlation {}, between {} and {}.",
            figure_to(2, found.correlation),
            figure_to(2, found.low),
            figure_to(2, found.high)
        )),
        _ if taster.little_scale => Some(format!(
            "{name} uses little of the scale: a standard deviation of {} points.",
            figure_to(1, taster.deviation.unwrap_or_default())
        )),
        _ => None,
    }
}

/// How many tasters are known to go with the rest.
fn agreement_of_panel(analysis: &Analysis) -> Option<String> {
    let judged: Vec<_> = analysis.tasters.iter().filter_map(|it| it.agreement.ok()).collect();
    let going = judged.iter().filter(|it| it.low > 0.0).count();
    match (judged.len(), going) {
        (0 | 1, _) => None,
        (all, 0) => Some(format!("None of {} is known to go with the rest.", count(all, "taster"))),
        (all, going) if all == going => Some(format!("All {} go with the rest.", count(all, "taster"))),
        (all, going) => {
            let known = by_count(going, "is", "are");
            let going = capital(&number_word(going));
            Some(format!("{going} of {} {known} known to go with the rest.", count(all, "taster")))
        }
    }
}

/// What hidden repeats say.
fn repeats(analysis: &Analysis) -> Option<String> {
    let found = analysis.repeatability?;
    let unit = match analysis.given {
        Given::Scores => "points",
        Given::Ranks => "places",
    };
    Some(format!(
        "The same wine in another glass: one judgement strays by {} {unit} (standard deviation, between {} and {}, \
         from {}); the widest lay {} apart.",
        figure_to(1, found.deviation),
        figure_to(1, found.low),
        figure_to(1, found.high),
        count(found.repeats, "repeat"),
        figure_to(1, found.widest)
    ))
}

/// "p 0.19", "p 0.0232", "p 0.0000024".
#[must_use]
pub fn probability(p: f64) -> String {
    if p < LEAST_TOLD {
        "p below 0.000000001".to_owned()
    } else if p < 0.0001 {
        format!("p {}", figure(two_figures(p)))
    } else if p < 0.1 {
        format!("p {}", figure_to(4, p))
    } else {
        format!("p {}", figure_to(2, p))
    }
}

/// "one taster", "three tasters".
fn count(number: usize, what: &str) -> String {
    format!("{} {}", number_word(number), by_count(number, what, &plural(what)))
}

/// Numbers to twelve are written out.
fn number_word(number: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "a", "a and b", "a, b and c", "a, b, c, d, e, f and 3 more".
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] if names.len() <= MOST_NAMES => format!("{} and {last}", before.join(", ")),
        _ => format!("{} and {} more", names[..MOST_NAMES].join(", "), names.len() - MOST_NAMES),
    }
}

/// Why a taster's agreement is not told, as a word for a table.
#[must_use]
pub const fn why_not(why: NoAgreement) -> &'static str {
    match why {
        NoAgreement::AllTheSame => "all the same",
        NoAgreement::OthersTheSame => "others all the same",
        NoAgreement::TooFew => "too few glasses",
    }
}

#[cfg(test)]
mod tests {
    use super::super::analyse;
    use super::super::samples::{scores, table};
    use super::super::two_way::samples::WINE_PANEL;
    use super::*;

    fn told(text: &str) -> Vec<String> {
        words(&analyse(&scores(text), &[]))
    }

    /// Rows of one order said again and again.
    fn often(row: &str, times: usize) -> String {
        vec![row; times].join("|")
    }

    #[test]
    fn a_panel_that_tells_nothing_apart_is_told_so() {
        let told = told(WINE_PANEL);
        assert!(told[0].starts_with("Nothing here tells these glasses apart"), "{told:?}");
        assert!(told[2].starts_with("The points alone would make the glasses differ (p 0.0232)"), "{told:?}");
    }

    #[test]
    fn glasses_above_the_rest() {
        let one = told(&often("18 12 12.5 12 12.5|18 12.5 12 12.5 12", 10));
        assert!(one[0].starts_with("Glass 1 stands above the rest (p 0.000001)."), "{one:?}");
        let three = "18 17 16 8 9 9 8|17 18 16 9 8 8 9|16 17 18 8 9 8 9|17 16 18 9 8 9 8";
        let three = told(&often(three, 8));
        assert!(three[0].starts_with("Three glasses, "), "{three:?}");
        assert!(three[0].contains(" stand above the rest") && three[1] == "Among themselves they can't be told apart.");
        let worst = told(&often("12 12.5 12 12.5 6|12.5 12 12.5 12 6", 10));
        assert!(worst[0].starts_with("Glass 5 falls below the rest (p"), "{worst:?}");
    }

    #[test]
    fn groups_that_overlap() {
        // In the middle one that is told from neither side.
        let words = told(&often("17 15 12|17 15 12|15 17 12|17 12 15", 2));
        assert!(words[0].contains("stands above 3") && words[0].contains("2 can't be told from it"), "{words:?}");
    }

    /// ISO 8587, Annex A: rank sums 17, 31, 32, 23, 17; the rows are ours.
    #[test]
    fn what_the_standard_tells_is_held_back() {
        let text = super::super::rank_sums::samples::STANDARD;
        let told = words(&analyse(&table(Given::Ranks, text), &[]));
        assert!(
            told[0].contains("no two of them can be told apart once the ten comparisons are held back"),
            "{told:?}"
        );
        assert!(
            told[1].ends_with("1 and 5 stand above 2 and 3 (some of it may be chance); 4 can't be told from them."),
            "{told:?}"
        );
    }

    #[test]
    fn what_tells_nothing_is_said() {
        for (text, part) in [
            ("", "Nobody has tasted yet"),
            ("12 14 15", "One taster's order can't be told from chance"),
            ("12 12 12|14 14 14", "Every taster gave all glasses the same"),
            ("12|13", "Only one glass was tasted"),
            ("12 13 14|11 12 13", "Nothing can be told here: two tasters"),
            ("12 13|11 12|12 14", "Nothing can be told here: three tasters"),
            ("12 13 - -|13 12 - -|- - 12 13|- - 12 13", "The flights do not hang together"),
        ] {
            let told = told(text);
            assert!(told[0].contains(part), "{text}: {told:?}");
        }
    }

    #[test]
    fn two_glasses_are_told_apart_by_enough_tasters() {
        let six = told(&often("12 13", 6));
        assert_eq!(six[0], "Glass 2 stands above the rest (p 0.0312).");
    }

    #[test]
    fn tasters_who_say_little_are_named() {
        let text = "18 12 15 9 14|17 11 14 8 13|14 14 14 14 14|14.5 14 14.5 14 14|9 16 12 18 13|18 11 15 10 13";
        let told = told(text).join(" ");
        for part in [
            "C gave every glass the same",
            "D uses little of the scale",
            "E goes against the rest: correlation -1.00, between",
        ] {
            assert!(told.contains(part), "{part}: {told}");
        }
    }

    #[test]
    fn hidden_repeats_and_missing_glasses() {
        let found = analyse(&scores("12 13 14 -|11 14 12 -|12 14 15 -|13 13 15 -"), &[vec![0, 1]]);
        let told = words(&found).join(" ");
        assert!(
            told.contains("from four repeats); the widest lay 3.0 apart") && told.contains("Nobody tasted glass 4."),
            "{told}"
        );
    }

    #[test]
    fn names_are_listed_and_numbers_written() {
        let names: Vec<String> = (1..=9).map(|number| number.to_string()).collect();
        assert_eq!(listed(&names[..3]), "1, 2 and 3");
        assert_eq!(listed(&names), "1, 2, 3, 4, 5, 6 and 3 more");
        assert_eq!([count(1, "taster"), count(13, "taster")], ["one taster", "13 tasters"]);
        assert_eq!([0.000_01, 0.023_2, 0.187].map(probability), ["p 0.00001", "p 0.0232", "p 0.19"]);
    }
}
