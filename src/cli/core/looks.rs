//! A file of one's own looks: what a person likes to see, whichever cellar is open. It is theirs to edit: comments stay, and what it says
//! that is not understood is named by its line.
//!
//! ```toml
//! palette = "cave"       # dusk, cave, aisle or mono
//! volume = "gallons"     # litres, hectolitres or gallons
//! dates = "month-first"  # day-first, month-first or year-first
//! decimal = "comma"      # comma or point, in tables and spreadsheets
//! by = "Ana"             # who enters, where nothing else says it
//! ```

use std::ffi::OsString;
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use toml_edit::{DocumentMut, Item, Key, value};

use super::cellar_file::System;
use super::complaint::{Complaint, Outcome};
use crate::cellar::core::label::{Label, harmless};
use crate::cli::arguments::Palette;
use crate::log::Trouble;
use crate::told::meant::meant;
use crate::units::{Customary, DateForm, DecimalMark, VolumeUnit};

/// No file of looks is larger.
const MOST_BYTES: u64 = 64 * 1024;

/// What a file of looks may say.
pub const SETTINGS: [&str; 5] = ["palette", "volume", "dates", "decimal", "by"];

/// The units that volumes may be told in, as a person says them.
pub const VOLUMES: [(&str, VolumeUnit); 3] =
    [("litres", VolumeUnit::Litre), ("hectolitres", VolumeUnit::Hectolitre), ("gallons", VolumeUnit::UsGallon)];

/// The forms of a date, as a person says them.
pub const DATES: [(&str, DateForm); 3] =
    [("day-first", DateForm::DayFirst), ("month-first", DateForm::MonthFirst), ("year-first", DateForm::YearFirst)];

/// The signs that part the whole of a number from the rest, as a person says them.
pub const DECIMALS: [(&str, DecimalMark); 2] = [("point", DecimalMark::Point), ("comma", DecimalMark::Comma)];

/// What a person likes to see.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Looks {
    /// The colours, unless the command line says others.
    pub palette: Option<Palette>,
    /// The unit of volumes, where one is said.
    pub volume: Option<VolumeUnit>,
    /// The form of dates, where one is said.
    pub dates: Option<DateForm>,
    /// The decimal sign, where one is said.
    pub decimal: Option<DecimalMark>,
    /// Who enters, where one is said.
    pub by: Option<Label>,
}

impl Looks {
    /// What is customary with this person.
    #[must_use]
    pub fn customary(&self) -> Customary {
        Customary {
            volume: self.volume.unwrap_or_default(),
            dates: self.dates,
            decimal: self.decimal.unwrap_or_default(),
        }
    }
}

/// What the surroundings say of where settings belong.
#[derive(Clone, Debug, Default)]
pub struct Places {
    /// The kind of system.
    pub system: System,
    /// `BARRELWALK_LOOKS`.
    pub looks: Option<OsString>,
    /// `XDG_CONFIG_HOME`.
    pub config_home: Option<OsString>,
    /// `HOME`.
    pub home: Option<OsString>,
    /// `APPDATA`.
    pub application_data: Option<OsString>,
}

impl Places {
    /// Those of this process.
    #[must_use]
    pub fn of_this_process() -> Places {
        Places {
            system: System::of_this_process(),
            looks: std::env::var_os("BARRELWALK_LOOKS"),
            config_home: std::env::var_os("XDG_CONFIG_HOME"),
            home: std::env::var_os("HOME"),
            application_data: std::env::var_os("APPDATA"),
        }
    }

    /// The file of looks, whether it is there or not; none where no folder for settings is known.
    #[must_use]
    pub fn file(&self) -> Option<PathBuf> {
        let filled = |variable: &Option<OsString>| variable.clone().filter(|text| !text.is_empty()).map(PathBuf::from);
        let folder = || match self.system {
            System::Unix => filled(&self.config_home).or_else(|| Some(filled(&self.home)?.join(".config"))),
            System::MacOs => Some(filled(&self.home)?.join("Library").join("Application Support")),
            System::Windows => filled(&self.application_data),
        };
        filled(&self.looks).or_else(|| Some(folder()?.join("barrelwalk").join("looks.toml")))
    }
}

/// What a file of looks says; nothing where it is not there.
pub fn read(file: &Path) -> Outcome<Looks> {
    let Some(text) = text_of(file)? else { return Ok(Looks::default()) };
    understood(&text).map(|(_, looks)| looks).map_err(|(line, why)| wrong(file, line, &why))
}

/// Writes how volumes and dates are told, and who enters where that is said, into a file of looks. What else stands in it stays, comments too; it is written whole or not at all.
pub fn keep(file: &Path, told: Option<(VolumeUnit, DateForm)>, by: Option<&Label>) -> Outcome {
    let text = text_of(file)?.unwrap_or_default();
    let (mut document, _) = understood(&text).map_err(|(line, why)| wrong(file, line, &why))?;
    if let Some((volume, dates)) = told {
        document["volume"] = value(word_of(&VOLUMES, volume));
        document["dates"] = value(word_of(&DATES, dates));
    }
    if let Some(by) = by {
        document["by"] = value(by.as_str());
    }
    let write = || {
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        fs::create_dir_all(folder)?;
        let mut written = tempfile::NamedTempFile::new_in(folder)?;
        written.write_all(document.to_string().as_bytes())?;
        written.as_file().sync_all()?;
        written.persist(file).map(drop).map_err(std::io::Error::from)
    };
    write().map_err(|error| {
        let (file, trouble) = (shown(file), Trouble::of(&error));
        let next = trouble.next();
        Complaint::Refused(format!(
            "Your looks could not be written into {file}: {trouble}. They are as they were. {next}"
        ))
    })
}

/// The text of the file, where there is one.
fn text_of(file: &Path) -> Outcome<Option<String>> {
    let refused = |why: &str| Complaint::Refused(format!("Your looks in {} cannot be read: {why}.", shown(file)));
    let failed = |error: &std::io::Error| {
        let trouble = Trouble::of(error);
        Complaint::Refused(format!("Your looks in {} cannot be read: {trouble}. {}", shown(file), trouble.next()))
    };
    let about = match fs::metadata(file) {
        Ok(about) => about,
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => return Ok(None),
        Err(error) => return Err(failed(&error)),
    };
    if !about.is_file() {
        return Err(refused("it is no file"));
    }
    if about.len() > MOST_BYTES {
        return Err(refused("it is larger than any file of looks"));
    }
    fs::read_to_string(file).map(Some).map_err(|error| failed(&error))
}

/// What a text says; else the line that is not understood, and why.
fn understood(text: &str) -> Result<(DocumentMut, Looks), (usize, String)> {
    let line_of = |byte: usize| text.as_bytes().iter().take(byte).filter(|sign| **sign == b'\n').count() + 1;
    // The parser tells where each key stands only before the document can be changed.
    let parsed = toml_edit::Document::parse(text).map_err(|error| {
        let line = error.span().map_or(1, |span| line_of(span.start));
        (line, "is not written as key = \"value\"".to_owned())
    })?;
    let mut looks = Looks::default();
    for (key, item) in parsed.iter() {
        let line = parsed.key(key).and_then(Key::span).map_or(1, |span| line_of(span.start));
        let word = item.as_str().map(str::trim);
        let why = match key {
            "palette" => {
                looks.palette = word.and_then(|word| Palette::from_str(word, true).ok());
                looks.palette.is_none().then(|| expects(key, item, &["dusk", "cave", "aisle", "mono"]))
            }
            "volume" => {
                looks.volume = word.and_then(|word| named(&VOLUMES, word));
                looks.volume.is_none().then(|| expects(key, item, &VOLUMES.map(|(word, _)| word)))
            }
            "dates" => {
                looks.dates = word.and_then(|word| named(&DATES, word));
                looks.dates.is_none().then(|| expects(key, item, &DATES.map(|(word, _)| word)))
            }
            "decimal" => {
                looks.decimal = word.and_then(|word| named(&DECIMALS, word));
                looks.decimal.is_none().then(|| expects(key, item, &DECIMALS.map(|(word, _)| word)))
            }
            "by" => {
                looks.by = word.and_then(|word| Label::new(word).ok());
                looks.by.is_none().then(|| format!("says by = {}. Write a name like \"Ana\"", quoted(item)))
            }
            other => Some(unknown(other)),
        };
        if let Some(why) = why {
            return Err((line, why));
        }
    }
    Ok((parsed.into_mut(), looks))
}

/// What a word names in a list.
pub fn named<T: Copy>(list: &[(&str, T)], word: &str) -> Option<T> {
    let word = word.to_lowercase().replace(' ', "-");
    list.iter().find(|(name, _)| *name == word).map(|(_, named)| *named)
}

fn word_of<T: Copy + PartialEq>(list: &[(&'static str, T)], wanted: T) -> &'static str {
    list.iter().find(|(_, it)| *it == wanted).map_or("", |(word, _)| word)
}

fn expects(key: &str, item: &Item, words: &[&str]) -> String {
    let said = quoted(item);
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    let (last, first) = quoted.split_last().map_or(("", &[][..]), |(last, first)| (last.as_str(), first));
    format!("says {key} = {said}. Write {} or {last}", first.join(", "))
}

fn quoted(item: &Item) -> String {
    harmless(&item.to_string().trim().chars().take(40).collect::<String>())
}

fn unknown(key: &str) -> String {
    let labels: Vec<Label> = SETTINGS.iter().filter_map(|name| Label::new(name).ok()).collect();
    let hint = meant(key, labels.iter()).unwrap_or_else(|| format!(" There are {}.", SETTINGS.join(", ")));
    format!(
        "says '{}', which is none of the looks.{}",
        harmless(&key.chars().take(40).collect::<String>()),
        hint.trim_end_matches('.')
    )
}

fn wrong(file: &Path, line: usize, why: &str) -> Complaint {
    let end = if why.ends_with('?') { "" } else { "." };
    Complaint::Refused(format!("Line {line} of your looks in {} {why}{end}", shown(file)))
}

fn shown(file: &Path) -> String {
    harmless(&file.to_string_lossy())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Result<Looks, String> {
        understood(text).map(|(_, looks)| looks).map_err(|(line, why)| format!("{line} {why}"))
    }

    #[test]
    fn what_is_said_is_taken() {
        assert_eq!(told(""), Ok(Looks::default()));
        let looks =
            told("# mine\npalette = \"cave\"\nvolume = \"Gallons\"  # as at home\ndates = \"month first\"\ndecimal = \"Comma\"\nby = \"Ana\"\n").unwrap();
        assert_eq!(looks.palette, Some(Palette::Cave));
        let customary =
            Customary { volume: VolumeUnit::UsGallon, dates: Some(DateForm::MonthFirst), decimal: DecimalMark::Comma };
        assert_eq!(looks.by, Label::new("Ana").ok());
        assert_eq!(looks.customary(), customary);
    }

    #[test]
    fn what_is_not_understood_is_named_by_its_line() {
        for (text, why) in [
            ("\n\npalete = \"cave\"\n", "3 says 'palete', which is none of the looks. Did you mean 'palette'?"),
            (
                "colour = 3",
                "1 says 'colour', which is none of the looks. There are palette, volume, dates, decimal, by",
            ),
            ("dates = \"dmy\"", "1 says dates = \"dmy\". Write \"day-first\", \"month-first\" or \"year-first\""),
            ("decimal = \"dot\"", "1 says decimal = \"dot\". Write \"point\" or \"comma\""),
            ("by = 3", "1 says by = 3. Write a name like \"Ana\""),
            ("palette = \"cave\"\nvolume = 3", "2 says volume = 3. Write \"litres\", \"hectolitres\" or \"gallons\""),
            ("palette = \"cave\"\nvolume =", "2 is not written as key = \"value\""),
            ("[looks]\nvolume = \"litres\"", "1 says 'looks', which is none of the looks"),
        ] {
            let said = told(text).unwrap_err();
            assert!(said.starts_with(why), "{said}");
        }
    }

    #[test]
    fn comments_stay_and_the_file_is_made_with_its_folder() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a").join("looks.toml");
        assert_eq!(read(&file).unwrap(), Looks::default());
        keep(&file, Some((VolumeUnit::UsGallon, DateForm::MonthFirst)), None).unwrap();
        let mine = format!("# mine\npalette = \"aisle\"  # bright\n{}", fs::read_to_string(&file).unwrap());
        fs::write(&file, mine).unwrap();
        keep(&file, Some((VolumeUnit::Litre, DateForm::YearFirst)), Label::new("Ana").ok().as_ref()).unwrap();
        let text = fs::read_to_string(&file).unwrap();
        assert_eq!(
            text,
            "# mine\npalette = \"aisle\"  # bright\nvolume = \"litres\"\ndates = \"year-first\"\nby = \"Ana\"\n"
        );
        let looks = read(&file).unwrap();
        assert_eq!(
            (looks.palette, looks.volume, looks.dates),
            (Some(Palette::Aisle), Some(VolumeUnit::Litre), Some(DateForm::YearFirst))
        );
        fs::write(&file, "volume = 1").unwrap();
        assert!(keep(&file, Some((VolumeUnit::Litre, DateForm::DayFirst)), None).is_err());
        assert_eq!(fs::read_to_string(&file).unwrap(), "volume = 1");
        assert!(read(folder.path()).unwrap_err().sentence().unwrap().contains("it is no file"));
    }

    #[test]
    fn each_system_has_its_place() {
        let path = |text: &str| Some(OsString::from(text));
        let unix = Places { home: path("/h"), ..Places::default() };
        assert_eq!(unix.file(), Some(PathBuf::from("/h/.config/barrelwalk/looks.toml")));
        assert_eq!(Places { looks: path("l"), ..unix.clone() }.file(), Some(PathBuf::from("l")));
        let config = Places { config_home: path("/c"), ..unix }.file();
        assert_eq!(config, Some(PathBuf::from("/c/barrelwalk/looks.toml")));
        assert_eq!(Places::default().file(), None);
    }
}
