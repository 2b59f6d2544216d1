//! The lines of a spreadsheet's page: how it was read, what is asked, which column is what; each with its value and what changes it.

use super::reading::{Read, Said, name_of};
use crate::cellar::core::label::harmless;
use crate::cellar::core::state::State;
use crate::import::fields::{TABLES, Table};
use crate::import::{Answers, Proposal, Question, house_of};
use crate::intake::mapping;
use crate::reckon::acid_unit::AcidUnit;
use crate::spreadsheet::date::DateOrder;
use crate::spreadsheet::delimiter::Delimiter;
use crate::spreadsheet::encoding::Encoding;
use crate::spreadsheet::number::DecimalSign;
use crate::spreadsheet::{Cell, Source};

/// A line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Item {
    /// What it lists.
    Kind,
    /// What was said of an earlier one of the same columns.
    Before,
    /// Which sheet of a workbook.
    Sheet,
    /// How the letters of a text are coded.
    Encoding,
    /// What parts its cells.
    Delimiter,
    /// Which line names the columns.
    Head,
    /// Which sign is the decimal one.
    Decimal,
    /// In which order dates stand.
    Dates,
    /// As which acid acidities are given.
    Acid,
    /// Which column a field stands in, where that is asked.
    Which(&'static str),
    /// What every line says that says nothing there.
    Every(String),
    /// Whether rooms and rows are laid out.
    LayOut,
    /// What a column is.
    Column(usize),
    /// Something more for every line.
    More,
    /// Whether the good lines are taken where others cannot be.
    KeepGood,
    /// Whether what is said is kept for the next one of the same columns.
    KeepSaid,
}

/// What is kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Keeps {
    /// Whether the good lines are, where others cannot be taken.
    pub good: bool,
    /// Whether what is said is, for the next one of the same columns.
    pub said: bool,
}

/// What the page knows when a line is shown or changed.
#[derive(Clone, Copy)]
pub struct At<'a> {
    /// What the file comes to.
    pub read: &'a Read,
    /// The cellar.
    pub state: &'a State,
    /// The sheets of the workbook.
    pub sheets: &'a [String],
    /// What is kept.
    pub keeps: Keeps,
    /// Which of several columns is looked at for what is asked.
    pub shown_column: usize,
}

/// What is said where a value is not told.
const AS_HEADS: &str = "as the heads say";

impl At<'_> {
    fn answers(&self) -> &Answers {
        &self.read.said.answers
    }

    /// How the file was understood, where it is known what it lists.
    pub fn proposal(&self) -> Option<&Proposal> {
        self.read.came_to.as_ref().map(|came_to| &came_to.proposal)
    }

    fn asks(&self, is_it: impl Fn(&Question) -> bool) -> Option<&Question> {
        self.proposal()?.questions.iter().find(|question| is_it(question))
    }

    fn is_text(&self) -> bool {
        matches!(self.read.grid.source, Source::Text { .. })
    }

    /// The lines, in their order.
    pub fn items(&self) -> Vec<Item> {
        let mut items = vec![Item::Kind];
        if self.read.before.is_some() {
            items.push(Item::Before);
        }
        items.extend(if self.is_text() { vec![Item::Encoding, Item::Delimiter] } else { vec![Item::Sheet] });
        let Some(proposal) = self.proposal() else { return items };
        if !proposal.turned {
            items.push(Item::Head);
        }
        let answers = self.answers();
        let is_of_acids = self.read.said.table.is_some_and(|table| table.house);
        let shown = [
            (proposal.decimal.is_some() || answers.decimal.is_some(), Item::Decimal),
            (proposal.dates.is_some() || answers.dates.is_some(), Item::Dates),
            (is_of_acids, Item::Acid),
        ];
        items.extend(
            shown.into_iter().filter(|(is_told, item)| *is_told || self.question(item).is_some()).map(|(_, item)| item),
        );
        let which = proposal.questions.iter().filter_map(|question| match question {
            Question::Column { field, .. } | Question::Columns { field, .. } => Some(Item::Which(field)),
            _ => None,
        });
        items.extend(which);
        let asked = proposal.questions.iter().filter_map(|question| match question {
            Question::Missing { field, .. } => Some(Item::Every((*field).to_owned())),
            _ => None,
        });
        items.extend(asked);
        items.extend(answers.constants.iter().map(|(field, _)| Item::Every(field.clone())));
        if answers.lay_out || self.question(&Item::LayOut).is_some() {
            items.push(Item::LayOut);
        }
        // Before all is answered, what cannot be taken may follow from that.
        if self.keeps.good || (proposal.questions.is_empty() && !proposal.refused.is_empty()) {
            items.push(Item::KeepGood);
        }
        items.extend(proposal.columns.iter().map(|column| Item::Column(column.number)));
        items.push(Item::More);
        if !answers.are_none() {
            items.push(Item::KeepSaid);
        }
        items
    }

    /// What is asked at a line.
    pub fn question(&self, item: &Item) -> Option<&Question> {
        self.asks(|question| match (item, question) {
            (Item::Head, Question::Head)
            | (Item::Decimal, Question::Decimal { .. })
            | (Item::Dates, Question::Dates { .. })
            | (Item::Acid, Question::Acid { .. })
            | (Item::LayOut, Question::LayOut { .. }) => true,
            (Item::Which(which), Question::Column { field, .. } | Question::Columns { field, .. }) => which == field,
            (Item::Every(every), Question::Missing { field, .. }) => every == field,
            (Item::Column(column), Question::Either { number, .. }) => column == number,
            _ => false,
        })
    }

    /// Whether something is to be said at a line before the file can be taken in.
    pub fn is_open(&self, item: &Item) -> bool {
        (*item == Item::Kind && self.read.said.table.is_none()) || self.question(item).is_some()
    }

    /// What is said at a line that is chosen.
    pub fn about(&self, item: &Item) -> String {
        if let Some(question) = self.question(item) {
            let how = match item {
                Item::Head => " Type the number of the line; 0 where the file has none.".to_owned(),
                Item::Which(_) => {
                    " Left and right go through the columns, enter takes the one that is shown.".to_owned()
                }
                Item::Every(_) => match question {
                    Question::Missing { like, .. } => {
                        format!(
                            " Type it for every line, like {}, or choose its column below.",
                            like.trim_matches('\'')
                        )
                    }
                    _ => String::new(),
                },
                Item::Column(_) => " Type which of them it is.".to_owned(),
                _ => " Left and right change it.".to_owned(),
            };
            return format!("{question}{how}");
        }
        match item {
            Item::Kind if self.read.said.table.is_none() => {
                "What does it list? Its head fits more than one kind, or none. Left and right change it.".to_owned()
            }
            Item::Kind => "What it lists. Left and right change it.".to_owned(),
            Item::Before => "What was said of an earlier list of the same columns is said of this one too. Left and right change it.".to_owned(),
            Item::Head => "The line that names the columns: left and right go to another, or type its number; 0 where the file has none.".to_owned(),
            Item::Every(field) => format!("What every line says whose {field} says nothing. Type another value."),
            Item::Column(_) => "What this column is taken as. Left and right change it, or type the name of a field, like forest.".to_owned(),
            Item::More => "Type a field, = and its value for every line that says nothing there, like toast=medium.".to_owned(),
            Item::KeepGood => "All lines or none, unless the good ones are to be taken.".to_owned(),
            Item::KeepSaid => "Whether what is said here is kept beside the file for the next list of the same columns.".to_owned(),
            Item::LayOut => "Whether rooms and rows that are named and not there are laid out.".to_owned(),
            Item::Acid => "As which acid acidities are given whose head does not say it.".to_owned(),
            _ => "As it was found. Left and right change it.".to_owned(),
        }
    }

    /// What a line is called.
    pub fn name(&self, item: &Item) -> String {
        match item {
            Item::Kind => "lists".to_owned(),
            Item::Before => "as before".to_owned(),
            Item::Sheet => "sheet".to_owned(),
            Item::Encoding => "letters".to_owned(),
            Item::Delimiter => "between cells".to_owned(),
            Item::Head => "head".to_owned(),
            Item::Decimal => "decimal sign".to_owned(),
            Item::Dates => "dates".to_owned(),
            Item::Acid => "acidity as".to_owned(),
            Item::Which(field) => format!("column of {field}"),
            Item::Every(field) => format!("every {field}"),
            Item::LayOut => "lay out rooms".to_owned(),
            Item::Column(number) => {
                match self.proposal().and_then(|it| it.columns.iter().find(|it| it.number == *number)) {
                    Some(column) if column.title != number.to_string() => format!("'{}'", harmless(&column.title)),
                    _ => format!("column {number}"),
                }
            }
            Item::More => "for every line".to_owned(),
            Item::KeepGood => "keep good lines".to_owned(),
            Item::KeepSaid => "keep what is said".to_owned(),
        }
    }

    /// Its value; none where none is told.
    pub fn value(&self, item: &Item) -> Option<String> {
        let (answers, proposal) = (self.answers(), self.proposal());
        let source = &self.read.grid.source;
        match (item, source) {
            (Item::Kind, _) => self.read.said.table.map(|table| table.name.to_owned()),
            (Item::Before, _) => {
                let (file, before) = self.read.before.as_ref()?;
                let is_said = before.under(Answers::default()).is_in(answers);
                Some(if is_said { format!("yes, {}", name_of(file)) } else { "no".to_owned() })
            }
            (Item::Sheet, Source::Sheet { name, .. }) => Some(harmless(name)),
            (Item::Encoding, Source::Text { encoding, .. }) => Some(encoding.to_string()),
            (Item::Delimiter, Source::Text { delimiter, .. }) => Some(delimiter.to_string()),
            (Item::Sheet | Item::Encoding | Item::Delimiter | Item::More, _) => None,
            (Item::Head | Item::Acid, _) if self.question(item).is_some() => None,
            (Item::Head, _) => Some(proposal?.head.map_or_else(|| "none".to_owned(), |head| format!("line {head}"))),
            (Item::Decimal, _) => Some(proposal?.decimal?.to_string()),
            (Item::Dates, _) => Some(proposal?.dates.map(order)?.to_owned()),
            (Item::Acid, _) => Some(match (answers.acid, self.state.practice.acid_unit) {
                (Some(acid), _) => acid.name().to_owned(),
                (None, Some(acid)) => format!("{AS_HEADS}, else {}", acid.name()),
                (None, None) => AS_HEADS.to_owned(),
            }),
            (Item::Which(_), _) => {
                let columns = self.columns_of(item);
                let number = columns.get(self.shown_column % columns.len().max(1))?;
                Some(format!("{}?", self.name(&Item::Column(*number))))
            }
            (Item::Every(field), _) => answers.every_line(field).map(harmless),
            (Item::LayOut, _) => Some(yes_no(answers.lay_out).to_owned()),
            (Item::Column(number), _) => {
                let column = proposal?.columns.iter().find(|it| it.number == *number)?;
                let taken = column.field.as_deref().unwrap_or("not taken in");
                let like = self.example(*number).map(|like| format!("{taken:<18} like {like}"));
                Some(like.unwrap_or_else(|| taken.to_owned()))
            }
            (Item::KeepGood, _) => Some(yes_no(self.keeps.good).to_owned()),
            (Item::KeepSaid, _) => Some(yes_no(self.keeps.said).to_owned()),
        }
    }

    /// What stands first in a column under the head.
    fn example(&self, number: usize) -> Option<String> {
        let proposal = self.proposal().filter(|proposal| !proposal.turned)?;
        let under = |line: u64| proposal.head.is_none_or(|head| line > head);
        let lines = self.read.grid.lines.iter().filter(|line| under(line.number));
        let cell = lines.map(|line| line.cell(number - 1)).find(|cell| !cell.is_empty());
        cell.map(Cell::words).map(|words| harmless(&words))
    }

    /// The columns that may be what is asked at a line.
    pub fn columns_of(&self, item: &Item) -> Vec<usize> {
        match (self.proposal(), self.question(item)) {
            (Some(proposal), Some(question)) => proposal.columns_asked_about(question),
            _ => Vec::new(),
        }
    }

    /// The answers with the value of a line before or after; none where it is typed, or has no other.
    pub fn turned(&self, item: &Item, by: isize) -> Option<Said> {
        let mut said = self.read.said.clone();
        let answers = &mut said.answers;
        match (item, &self.read.grid.source) {
            (Item::Kind, _) => {
                let mut kinds = TABLES.into_iter();
                let names: Vec<&str> = TABLES.iter().map(|table| table.name).collect();
                let name = step(&names, said.table.map(|table| table.name).as_ref(), by)?;
                let table = kinds.find(|table| table.name == name);
                return Some(Said { wanted: said.wanted, ..Said::nothing_but(table) });
            }
            (Item::Before, _) => {
                let before = self.read.before.as_ref()?.1.under(Answers::default());
                *answers = if before.is_in(answers) { Answers::default() } else { before };
            }
            (Item::Sheet, Source::Sheet { name, .. }) => {
                let sheet = step(self.sheets, Some(name), by)?;
                let wanted = crate::spreadsheet::Wanted { sheet: Some(sheet), ..said.wanted };
                return Some(Said { wanted, ..Said::nothing_but(None) });
            }
            (Item::Encoding, Source::Text { encoding, .. }) => {
                said.wanted.encoding = Some(step(&Encoding::ALL, Some(encoding), by)?);
            }
            (Item::Delimiter, Source::Text { delimiter, .. }) => {
                said.wanted.delimiter = Some(step(&Delimiter::ALL, Some(delimiter), by)?);
            }
            (Item::Head, _) => {
                let numbers = self.read.grid.lines.iter().map(|line| line.number);
                let numbers: Vec<u64> = std::iter::once(0).chain(numbers).collect();
                let now = self.proposal()?.head.unwrap_or(0);
                answers.head = Some(step(&numbers, Some(&now), by)?);
            }
            (Item::Decimal, _) => answers.decimal = step(&DecimalSign::ALL, self.proposal()?.decimal.as_ref(), by),
            (Item::Dates, _) => answers.dates = step(&DateOrder::ALL, self.proposal()?.dates.as_ref(), by),
            (Item::Acid, _) => {
                let acids: Vec<Option<AcidUnit>> = std::iter::once(None).chain(AcidUnit::ALL.map(Some)).collect();
                answers.acid = step(&acids, Some(&answers.acid), by)?;
            }
            (Item::LayOut, _) => answers.lay_out = !answers.lay_out,
            (Item::Column(number), _) => {
                let proposal = self.proposal()?;
                let column = proposal.columns.iter().find(|it| it.number == *number)?;
                let fields = fields(said.table?, self.state);
                let fields: Vec<Option<&str>> =
                    std::iter::once(None).chain(fields.iter().map(|it| Some(it.as_str()))).collect();
                let field = step(&fields, Some(&column.field.as_deref()), by)?;
                answers.say_column_is(proposal, *number, field);
            }
            _ => return None,
        }
        Some(said)
    }

    /// The answers with what is typed at a line, or with what is looked at there; else why not.
    pub fn answered(&self, item: &Item, typed: &str) -> Result<Said, String> {
        let mut said = self.read.said.clone();
        let answers = &mut said.answers;
        let typed = typed.trim();
        match item {
            Item::Head => {
                let number = typed.parse().map_err(|_| "Type the number of the line that names the columns, or 0.")?;
                let is_there = number == 0 || self.read.grid.lines.iter().any(|line| line.number == number);
                if !is_there {
                    return Err(format!("Nothing stands in line {number}."));
                }
                answers.head = Some(number);
            }
            Item::Every(field) => answers.say_every_line(field, typed),
            Item::More => {
                let example = "Write a field, = and what every line says, like toast=medium.";
                let (field, value) = typed.split_once('=').ok_or(example)?;
                let (field, value) = (field.trim(), value.trim());
                let there = said.table.map_or_else(Vec::new, |table| fields(table, self.state));
                if !there.iter().any(|name| name == field) {
                    return Err(format!("There is no field '{}'. There are {}.", harmless(field), there.join(", ")));
                }
                answers.say_every_line(field, value);
            }
            Item::Which(field) => {
                let columns = self.columns_of(item);
                let number =
                    columns.get(self.shown_column % columns.len().max(1)).ok_or("The file has no column for it.")?;
                answers.say_field_is_in(self.proposal().ok_or("")?, field, *number);
            }
            Item::Column(number) => {
                let proposal = self.proposal().ok_or("")?;
                let there = said.table.map_or_else(Vec::new, |table| fields(table, self.state));
                let begins = |name: &&String| name.to_lowercase().starts_with(&typed.to_lowercase());
                let mut found = there.iter().filter(begins);
                let field = there
                    .iter()
                    .find(|name| name.eq_ignore_ascii_case(typed))
                    .or_else(|| found.next().filter(|_| found.next().is_none()));
                let why = || {
                    format!("'{}' is no field, or several begin so. There are {}.", harmless(typed), there.join(", "))
                };
                answers.say_column_is(proposal, *number, Some(field.ok_or_else(why)?));
            }
            _ => return Err("Left and right change it.".to_owned()),
        }
        Ok(said)
    }

    /// Where what is said is kept.
    pub fn kept_beside(&self, file: &std::path::Path) -> Option<std::path::PathBuf> {
        self.read.said.table.map(|table| mapping::beside(file, table))
    }
}

impl Item {
    /// Whether a value is typed at it.
    pub const fn is_typed(&self) -> bool {
        matches!(self, Item::Head | Item::Every(_) | Item::More | Item::Column(_))
    }
}

/// The names of a table's fields.
fn fields(table: &'static Table, state: &State) -> Vec<String> {
    let house = house_of(table, state);
    table.fields.iter().map(|field| field.name.to_owned()).chain(house.iter().map(ToString::to_string)).collect()
}

/// The value before or after one in a ring; the first or the last where there is none.
fn step<T: Clone + PartialEq>(all: &[T], now: Option<&T>, by: isize) -> Option<T> {
    let count = isize::try_from(all.len()).ok().filter(|count| *count > 0)?;
    let at = now.and_then(|now| all.iter().position(|it| it == now)).and_then(|at| isize::try_from(at).ok());
    let next = match at {
        Some(at) => (at + by).rem_euclid(count),
        None if by > 0 => 0,
        None => count - 1,
    };
    all.get(usize::try_from(next).ok()?).cloned()
}

const fn yes_no(is_so: bool) -> &'static str {
    if is_so { "yes" } else { "no" }
}

const fn order(dates: DateOrder) -> &'static str {
    match dates {
        DateOrder::DayMonth => "day before month",
        DateOrder::MonthDay => "month before day",
    }
}
