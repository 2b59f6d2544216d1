//! Near misses: a word that is new here and very like one that is known is most likely a slip of the hand.
//!
//! Known are the words that this cellar used before, and those of lists that ship: forests, toasts and varieties
//! (`assets/words.json`, common names of the trade) and materials. A word is near one that differs in case or in the marks
//! of its letters only, or in one letter (a letter more, fewer, other, or two that changed places), of eight letters or more
//! in two. Numbers make words apart: Block 12 is not Block 13.

use std::sync::LazyLock;

use serde::Deserialize;

use super::label::Label;
use super::question::Question;
use super::state::State;
use crate::cellar::jobs::floor::vessel::Wood;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::material::plain;

/// A word of fewer letters is near none but by its case and marks …
const SHORT: usize = 4;
/// … and one of so many or more may differ in two.
const LONG: usize = 8;

/// The lists that ship.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Words {
    /// Forests, regions and countries that oak is named after.
    pub forests: Vec<String>,
    /// Degrees of toasting.
    pub toasts: Vec<String>,
    /// Varieties of grapes.
    pub varieties: Vec<String>,
}

static WORDS: LazyLock<Words> =
    // That the file reads is held by a test; without it only what was used before is known.
    LazyLock::new(|| serde_json::from_str(include_str!("../../../assets/words.json")).unwrap_or_default());

/// The lists that ship.
#[must_use]
pub fn words() -> &'static Words {
    &WORDS
}

/// The word that a new one most likely means: one that was used before, else one of the trade's; none where it is known as it
/// is written, or is like none.
pub fn meant<'a, Used: Iterator<Item = &'a str>>(
    word: &str,
    used: impl Fn() -> Used,
    trade: impl Iterator<Item = &'a str> + Clone,
) -> Option<&'a str> {
    if used().any(|known| known == word) {
        return None;
    }
    let new = Letters::of(word);
    if let Some(same) = used().find(|known| Letters::of(known) == new) {
        return Some(same);
    }
    // The trade's lists do not say which letters a house writes large.
    let lower = word.to_lowercase();
    if trade.clone().any(|known| known.to_lowercase() == lower) {
        return None;
    }
    let nearest = used().chain(trade).filter_map(|known| Some((new.distance(&Letters::of(known))?, known)));
    // Of equally near ones the first.
    nearest.reduce(|best, other| if other.0 < best.0 { other } else { best }).map(|(_, known)| known)
}

impl State {
    /// What is asked of the words for a barrel's wood and making: whose are new here and near one that is known.
    pub(in crate::cellar) fn wood_questions(&self, wood: &Wood) -> Vec<Question> {
        type Said = fn(&Wood) -> Option<&Label>;
        let words = words();
        let of: [(Said, &[String]); 4] = [
            (|wood| wood.cooper.as_ref(), &[]),
            (|wood| wood.forest.as_ref(), &words.forests),
            (|wood| wood.grain.as_ref(), &[]),
            (|wood| wood.toast.as_ref(), &words.toasts),
        ];
        let question = |(said, trade): &(Said, &[String])| {
            let used = || self.vessels.iter().filter_map(|(_, vessel)| Some(said(&vessel.wood)?.as_str()));
            near_miss(said(wood)?, used, trade.iter().map(String::as_str))
        };
        of.iter().filter_map(question).collect()
    }

    /// The same of a variety.
    pub(in crate::cellar) fn variety_questions(&self, variety: &Label) -> Vec<Question> {
        let used = || self.origins.iter().map(|(_, origin)| origin.0.variety.as_str());
        near_miss(variety, used, words().varieties.iter().map(String::as_str)).into_iter().collect()
    }

    /// The same of something that a house has its wines tested for: it may be what every laboratory reports.
    pub(in crate::cellar) fn analyte_questions(&self, analyte: &Label) -> Vec<Question> {
        let used = || self.house_analytes.iter().map(|house| house.analyte.as_str());
        let every_laboratorys: Vec<&str> = Analyte::ALL.into_iter().map(Analyte::name).collect();
        near_miss(analyte, used, every_laboratorys.iter().copied()).into_iter().collect()
    }
}

fn near_miss<'a, Used: Iterator<Item = &'a str>>(
    written: &Label,
    used: impl Fn() -> Used,
    trade: impl Iterator<Item = &'a str> + Clone,
) -> Option<Question> {
    let known = meant(written.as_str(), used, trade)?.to_owned();
    Some(Question::NearMiss { written: written.clone(), known })
}

/// A word taken apart for comparing.
#[derive(PartialEq, Eq)]
struct Letters {
    written: Vec<char>,
    /// How it sounds.
    sound: Vec<char>,
    /// Its figures and the signs that mean something: `medium+` is not `medium`.
    apart: String,
}

impl Letters {
    fn of(word: &str) -> Letters {
        let (apart, letters): (String, String) = plain(word).chars().partition(|letter: &char| letter.is_numeric());
        let signs: String = word.chars().filter(|sign| matches!(sign, '+' | '%')).collect();
        Letters { sound: sound(word), written: letters.chars().collect(), apart: apart + &signs }
    }

    /// How many letters lie between two words that are near each other.
    fn distance(&self, other: &Letters) -> Option<usize> {
        let (shorter, longer) =
            (self.written.len().min(other.written.len()), self.written.len().max(other.written.len()));
        let most = match shorter {
            0..SHORT => 0,
            SHORT..LONG => 1,
            _ => 2,
        };
        if self.apart != other.apart {
            return None;
        }
        let sounds = self.sound.len() >= SHORT && self.sound == other.sound;
        let by_letters = || {
            let between = (longer - shorter <= most).then(|| letters_between(&self.written, &other.written));
            between.filter(|&between| between <= most)
        };
        // What sounds alike is as near as what differs in a letter.
        if sounds { Some(1) } else { by_letters() }
    }
}

/// How a word sounds, roughly, in the tongues that the trade borrows from: letters that sound alike are one, doubled ones too, and an `h` and an end that nobody
/// hears are none. `Tronsais` and `Tronçais`, `Oakes` and `Oaks`, `Cinsault` and `Cinsaut` come out the same. Rules of our own, no published code.
#[must_use]
pub fn sound(word: &str) -> Vec<char> {
    let mut plainly = plain(&word.replace(['ç', 'Ç'], "s"));
    for (written, heard) in [
        ("ph", "f"),
        ("ault", "o"),
        ("eau", "o"),
        ("aut", "o"),
        ("au", "o"),
        ("sch", "s"),
        ("ch", "s"),
        ("sh", "s"),
        ("ck", "k"),
        ("qu", "k"),
        ("gn", "n"),
        ("ll", "l"),
        ("ou", "u"),
        ("ea", "e"),
        ("ei", "i"),
        ("ie", "i"),
        ("oa", "o"),
        ("x", "ks"),
    ] {
        plainly = plainly.replace(written, heard);
    }
    let letters: Vec<char> = plainly.chars().collect();
    let heard = letters.iter().enumerate().filter_map(|(at, letter)| match (letter, letters.get(at + 1)) {
        ('c', Some('e' | 'i' | 'y')) | ('z', _) => Some('s'),
        ('c' | 'q', _) => Some('k'),
        ('y' | 'j', _) => Some('i'),
        ('w', _) => Some('v'),
        ('h', _) | ('e', None) => None,
        ('e', Some('s')) if at + 2 == letters.len() => None,
        (other, _) => Some(*other),
    });
    let mut sound: Vec<char> = heard.collect();
    sound.dedup();
    sound
}

/// Whether two words that are long enough sound alike.
#[must_use]
pub fn sound_alike(one: &str, other: &str) -> bool {
    let (one, other) = (sound(one), sound(other));
    one.len() >= SHORT && one == other
}

/// The least number of letters that are put in, left out, changed, or changed places with their neighbour (the optimal string
/// alignment distance; Damerau 1964, Levenshtein 1966).
#[must_use]
pub fn letters_between(one: &[char], other: &[char]) -> usize {
    let mut before_that: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=other.len()).collect();
    for (row, letter) in one.iter().enumerate() {
        let mut line = vec![row + 1];
        for (column, against) in other.iter().enumerate() {
            let changed = above[column] + usize::from(letter != against);
            let mut fewest = changed.min(above[column + 1] + 1).min(line[column] + 1);
            if row > 0 && column > 0 && one[row - 1] == *against && *letter == other[column - 1] {
                fewest = fewest.min(before_that[column - 1] + 1);
            }
            line.push(fewest);
        }
        before_that = std::mem::replace(&mut above, line);
    }
    above.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near<'a>(word: &str, used: &[&'a str]) -> Option<&'a str> {
        let forests = words().forests.iter().map(String::as_str);
        meant(word, || used.iter().copied(), forests)
    }

    #[test]
    fn the_lists_read() {
        let words = words();
        assert!(words.forests.len() > 20 && words.toasts.len() > 5 && words.varieties.len() > 60);
    }

    #[test]
    fn a_slip_is_found() {
        assert_eq!(near("Trnçais", &[]), Some("Tronçais"));
        assert_eq!(near("Troncais", &[]), Some("Tronçais"));
        assert_eq!(near("Tornçais", &[]), Some("Tronçais"));
        assert_eq!(near("Aller", &[]), Some("Allier"));
        assert_eq!(near("oakes", &["Oakes"]), Some("Oakes"));
        assert_eq!(near("Oaks", &["Oakes"]), Some("Oakes"));
        assert_eq!(near("Hillside Coopers", &["Hillside Cooperage"]), None);
        assert_eq!(near("Hilside Coperage", &["Hillside Cooperage"]), Some("Hillside Cooperage"));
    }

    #[test]
    fn what_sounds_alike_is_found() {
        for (word, known) in [
            ("Tronssais", "Tronçais"),
            ("Hillsyde Cooperage", "Hillside Cooperage"),
            ("Sinso", "Cinsault"),
            ("Phenix", "Fénix"),
            ("Bezkerin", "Besquerin"),
        ] {
            assert!(sound_alike(word, known), "{word}: {:?} {:?}", sound(word), sound(known));
            assert_eq!(near(word, &[known]), Some(known));
        }
        for (word, other) in [
            ("Merlot", "Malbec"),
            ("Allier", "Vosges"),
            ("North", "South"),
            ("Upper", "Lower"),
            ("oak", "oake"),
            ("", ""),
        ] {
            assert!(!sound_alike(word, other), "{word} {other}");
        }
        assert_eq!(near("Block 12", &["Blok 13"]), None);
    }

    #[test]
    fn what_is_known_or_another_thing_is_none() {
        assert_eq!(near("Tronçais", &[]), None);
        assert_eq!(near("tronçais", &[]), None, "the list does not say what is written large");
        assert_eq!(near("Trnçais", &["Trnçais", "Tronçais"]), None, "it was said that it is so");
        assert_eq!(near("oak", &["oat"]), None, "too short");
        assert_eq!(near("Block 13", &["Block 12"]), None);
        assert_eq!(near("medium+", &["medium"]), None);
        assert_eq!(near("Kelling", &["Oakes"]), None);
        assert_eq!([near("", &["Oakes"]), near("Oakes", &[""])], [None, None]);
    }

    /// Kitten and sitting: three, the textbook's example of Levenshtein's distance; two neighbours that changed places are one.
    #[test]
    fn letters_between_words() {
        let between = |one: &str, other: &str| {
            letters_between(&one.chars().collect::<Vec<_>>(), &other.chars().collect::<Vec<_>>())
        };
        assert_eq!(
            [between("kitten", "sitting"), between("ab", "ba"), between("", "abc"), between("a", "a")],
            [3, 1, 3, 0]
        );
    }
}
