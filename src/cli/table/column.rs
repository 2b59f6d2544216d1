//! The columns of a thing: one list says what the table, the spreadsheet and JSON show.

use super::cell::{Cell, Named};

/// How a value is found in a thing.
pub type Find<T> = fn(&T) -> Cell;

/// One column.
pub struct Column<T> {
    /// The field's name in spreadsheet and JSON; none where the column is for people only.
    pub name: Option<&'static str>,
    /// The heading in the table; none where the column is for programs only.
    pub heading: Option<&'static str>,
    /// The value.
    pub cell: Find<T>,
    /// Whether a table tells the sum.
    pub summed: bool,
    /// Whether the column is left out of a table in which it says nothing.
    pub sparse: bool,
    /// Whether it is a list within the thing, which a card shows as a table of its own.
    pub nested: bool,
    /// What it is called on a card, where its name does not say it.
    pub on_card: Option<&'static str>,
    /// What JSON holds of it.
    pub json: Json<T>,
}

/// What JSON holds of a column.
pub enum Json<T> {
    /// The same cell as the spreadsheet.
    Cell,
    /// The list or the thing itself, of which the spreadsheet has one cell.
    Whole(Find<T>),
    /// The cell, which no spreadsheet has.
    Only,
    /// The values of a thing, as if they were this thing's own.
    Spread,
    /// Nothing here.
    Elsewhere,
}

impl<T> Column<T> {
    const fn new(name: Option<&'static str>, heading: Option<&'static str>, cell: Find<T>) -> Self {
        Column { name, heading, cell, summed: false, sparse: false, nested: false, on_card: None, json: Json::Cell }
    }

    /// A column for programs and people.
    pub const fn both(name: &'static str, heading: &'static str, cell: Find<T>) -> Self {
        Self::new(Some(name), Some(heading), cell)
    }

    /// A column for programs only.
    pub const fn program(name: &'static str, cell: Find<T>) -> Self {
        Self::new(Some(name), None, cell)
    }

    /// A column for people only.
    pub const fn people(heading: &'static str, cell: Find<T>) -> Self {
        Self::new(None, Some(heading), cell)
    }

    /// A list or a thing within the thing, for JSON only: a spreadsheet has no cell for it.
    pub const fn within(name: &'static str, cell: Find<T>) -> Self {
        Column { json: Json::Only, nested: true, ..Self::new(Some(name), None, cell) }
    }

    /// A thing whose values stand in JSON as if they were this thing's own.
    pub const fn spread(cell: Find<T>) -> Self {
        Column { json: Json::Spread, nested: true, ..Self::new(None, None, cell) }
    }

    /// The name of its cell in a spreadsheet, if it has one there.
    pub const fn in_spreadsheet(&self) -> Option<&'static str> {
        match self.json {
            Json::Cell | Json::Whole(_) | Json::Elsewhere => self.name,
            Json::Only | Json::Spread => None,
        }
    }

    /// The same column with its sum below it.
    pub const fn summed(mut self) -> Self {
        self.summed = true;
        self
    }

    /// The same column, left out of a table in which it says nothing.
    pub const fn sparse(mut self) -> Self {
        self.sparse = true;
        self
    }

    /// The same column, called so on a card.
    pub const fn on_card(mut self, name: &'static str) -> Self {
        self.on_card = Some(name);
        self
    }

    /// The same column, a list within the thing.
    pub const fn nested(mut self) -> Self {
        self.nested = true;
        self
    }

    /// The same column, of which JSON holds the list or the thing itself.
    pub const fn whole(mut self, whole: Find<T>) -> Self {
        self.json = Json::Whole(whole);
        self
    }

    /// The same column, which stands at another place in JSON, with a column of its own.
    pub const fn elsewhere(mut self) -> Self {
        self.json = Json::Elsewhere;
        self
    }
}

/// The values of a thing under their names, as JSON holds them.
pub fn named<T>(columns: &[Column<T>], thing: &T) -> Vec<Named> {
    let mut values = Vec::with_capacity(columns.len());
    for column in columns {
        let cell = match column.json {
            Json::Cell | Json::Only | Json::Spread => column.cell,
            Json::Whole(whole) => whole,
            Json::Elsewhere => continue,
        };
        match (column.name, &column.json) {
            (Some(name), _) => values.push((name.into(), cell(thing))),
            (None, Json::Spread) => match cell(thing) {
                Cell::Thing(its) => values.extend(its),
                Cell::Form(serde_json::Value::Object(its)) => {
                    values.extend(its.into_iter().map(|(name, value)| (name.into(), Cell::Form(value))));
                }
                _ => {}
            },
            (None, _) => {}
        }
    }
    values
}

impl Cell {
    /// A thing within a thing.
    pub fn thing<T>(columns: &[Column<T>], thing: &T) -> Cell {
        Cell::Thing(named(columns, thing))
    }

    /// Things within a thing.
    pub fn things<T>(columns: &[Column<T>], things: impl IntoIterator<Item = T>) -> Cell {
        Cell::List(things.into_iter().map(|thing| Cell::thing(columns, &thing)).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Thing(Vec<&'static str>, i64);

    const THING: [Column<Thing>; 6] = [
        Column::both("names", "names", |it: &Thing| it.0.join(" ").into()).whole(|it| Cell::list(it.0.iter().copied())),
        Column::both("count", "count", |it: &Thing| it.1.into()).elsewhere(),
        Column::people("told", |it| it.1.into()),
        Column::within("inner", |it| Cell::thing(&INNER, &it.1)),
        Column::spread(|it| Cell::thing(&INNER, &it.1)),
        Column::within("count", |it| it.1.into()),
    ];
    const INNER: [Column<i64>; 1] = [Column::program("number", |it: &i64| (*it).into())];

    #[test]
    fn json_holds_lists_and_things_where_a_spreadsheet_has_one_cell_or_none() {
        let thing = Thing(vec!["a", "=b"], 7);
        let json = serde_json::to_string(&Cell::thing(&THING, &thing)).unwrap();
        assert_eq!(json, r#"{"names":["a","=b"],"inner":{"number":7},"number":7,"count":7}"#);
        let names: Vec<&str> = THING.iter().filter_map(Column::in_spreadsheet).collect();
        assert_eq!(names, ["names", "count"]);
        assert_eq!((THING[0].cell)(&thing).in_table(), "a =b");
    }
}
