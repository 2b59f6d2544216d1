//! What can be said of a spreadsheet that is taken in, on the command line.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::cli::arguments::{Entering, Format};
use crate::import::Answers;
use crate::import::fields::{BARRELS, TASTES, TESTS, TOPPINGS, Table, WINE};
use crate::reckon::acid_unit::AcidUnit;
use crate::spreadsheet::Wanted;
use crate::spreadsheet::date::DateOrder;
use crate::spreadsheet::delimiter::Delimiter;
use crate::spreadsheet::encoding::Encoding;
use crate::spreadsheet::number::DecimalSign;

/// Which spreadsheet is taken in, and what is said of it.
#[derive(Debug, Args)]
pub struct ImportArguments {
    /// What it lists
    #[arg(value_enum)]
    pub table: TableWord,
    /// The file: CSV, XLSX or ODS; '-' reads from standard input
    pub file: PathBuf,
    /// Only say what would be entered
    #[arg(long)]
    pub dry_run: bool,
    /// In which form that is said
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// The number of the line that names the columns; 0 where none does
    #[arg(long, value_name = "LINE")]
    pub head: Option<u64>,
    /// Which column is what, as `capacity=Litres` or `capacity=3`; 0 is none; may be said several times
    #[arg(long = "column", value_name = "FIELD=COLUMN", value_parser = column)]
    pub columns: Vec<(String, String)>,
    /// The decimal sign
    #[arg(long, value_enum)]
    pub decimal: Option<DecimalWord>,
    /// In which order day, month and year stand
    #[arg(long, value_enum)]
    pub dates: Option<DatesWord>,
    /// What parts the cells of a text
    #[arg(long, value_enum)]
    pub delimiter: Option<DelimiterWord>,
    /// How the letters of a text are coded
    #[arg(long, value_enum)]
    pub encoding: Option<EncodingWord>,
    /// Which sheet of a workbook
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// What every line says that says nothing there, as `room=long` or `capacity='225 L'`; may be said several times
    #[arg(long = "set", value_name = "FIELD=VALUE", value_parser = column)]
    pub constants: Vec<(String, String)>,
    /// As which acid an acidity is given whose head does not say it; the volatile as sulfuric too, else as acetic
    #[arg(long, value_enum)]
    pub acid: Option<AcidWord>,
    /// A file that keeps what is said of the table here, for the next one of the same columns; where it is there already it is read
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Lay out the rooms and rows that are named and not there
    #[arg(long)]
    pub lay_out: bool,
    /// Take the good lines even if others are refused
    #[arg(long)]
    pub keep_good: bool,
    /// Who enters it, since when it is so, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

fn column(text: &str) -> Result<(String, String), String> {
    let (field, column) =
        text.split_once('=').ok_or("write a field, = and what stands for it, like capacity=Litres")?;
    Ok((field.trim().to_owned(), column.trim().to_owned()))
}

impl ImportArguments {
    /// What is said of the file before it is read.
    #[must_use]
    pub fn wanted(&self) -> Wanted {
        Wanted {
            delimiter: self.delimiter.map(DelimiterWord::delimiter),
            encoding: self.encoding.map(EncodingWord::encoding),
            sheet: self.sheet.clone(),
        }
    }

    /// What is said of its table.
    #[must_use]
    pub fn answers(&self) -> Answers {
        Answers {
            head: self.head,
            decimal: self.decimal.map(DecimalWord::sign),
            dates: self.dates.map(DatesWord::order),
            columns: self.columns.clone(),
            constants: self.constants.clone(),
            lay_out: self.lay_out,
            acid: self.acid.map(AcidWord::acid),
        }
    }
}

/// What a spreadsheet lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TableWord {
    /// Barrels, and where they lie
    Barrels,
    /// What lies in which vessel
    Wine,
    /// What a laboratory found: a line a vessel, lot or sample, or a column each
    Tests,
    /// What was tasted
    Tastes,
    /// What was poured at toppings
    Toppings,
}

impl TableWord {
    /// The table.
    #[must_use]
    pub const fn table(self) -> &'static Table {
        match self {
            TableWord::Barrels => &BARRELS,
            TableWord::Wine => &WINE,
            TableWord::Tests => &TESTS,
            TableWord::Tastes => &TASTES,
            TableWord::Toppings => &TOPPINGS,
        }
    }
}

/// An acid as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum AcidWord {
    /// Tartaric.
    Tartaric,
    /// Sulfuric.
    Sulfuric,
    /// Acetic.
    Acetic,
    /// In meq/L.
    Meq,
}

impl AcidWord {
    /// The acid.
    #[must_use]
    pub const fn acid(self) -> AcidUnit {
        match self {
            AcidWord::Tartaric => AcidUnit::Tartaric,
            AcidWord::Sulfuric => AcidUnit::Sulfuric,
            AcidWord::Acetic => AcidUnit::Acetic,
            AcidWord::Meq => AcidUnit::Meq,
        }
    }
}

/// A decimal sign as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DecimalWord {
    /// `1.5`
    Point,
    /// `1,5`
    Comma,
}

impl DecimalWord {
    const fn sign(self) -> DecimalSign {
        match self {
            DecimalWord::Point => DecimalSign::Point,
            DecimalWord::Comma => DecimalSign::Comma,
        }
    }
}

/// An order of dates as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DatesWord {
    /// The day first.
    Dmy,
    /// The month first.
    Mdy,
}

impl DatesWord {
    const fn order(self) -> DateOrder {
        match self {
            DatesWord::Dmy => DateOrder::DayMonth,
            DatesWord::Mdy => DateOrder::MonthDay,
        }
    }
}

/// A delimiter as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DelimiterWord {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tabulator.
    Tab,
    /// `|`
    Bar,
}

impl DelimiterWord {
    const fn delimiter(self) -> Delimiter {
        match self {
            DelimiterWord::Comma => Delimiter::Comma,
            DelimiterWord::Semicolon => Delimiter::Semicolon,
            DelimiterWord::Tab => Delimiter::Tab,
            DelimiterWord::Bar => Delimiter::Bar,
        }
    }
}

/// A coding of letters as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum EncodingWord {
    /// UTF-8.
    #[value(name = "utf-8")]
    Utf8,
    /// UTF-16, the lower byte first.
    #[value(name = "utf-16le")]
    Utf16Le,
    /// UTF-16, the higher byte first.
    #[value(name = "utf-16be")]
    Utf16Be,
    /// Windows-1252.
    #[value(name = "windows-1252")]
    Windows1252,
}

impl EncodingWord {
    const fn encoding(self) -> Encoding {
        match self {
            EncodingWord::Utf8 => Encoding::Utf8,
            EncodingWord::Utf16Le => Encoding::Utf16Little,
            EncodingWord::Utf16Be => Encoding::Utf16Big,
            EncodingWord::Windows1252 => Encoding::Windows1252,
        }
    }
}
