//! How questions are answered one by one, and what is said of a file is changed again.

use super::{Answers, Proposal, Question};

impl Answers {
    /// Whether nothing is said that would be kept for another file of the same columns.
    #[must_use]
    pub fn are_none(&self) -> bool {
        Answers { lay_out: false, ..self.clone() } == Answers::default()
    }

    /// Whether all of it is said in other answers too.
    #[must_use]
    pub fn is_in(&self, other: &Answers) -> bool {
        let agrees = [
            self.head.is_none() || self.head == other.head,
            self.decimal.is_none() || self.decimal == other.decimal,
            self.dates.is_none() || self.dates == other.dates,
            self.acid.is_none() || self.acid == other.acid,
        ];
        agrees == [true; 4]
            && self.columns.iter().all(|said| other.columns.contains(said))
            && self.constants.iter().all(|said| other.constants.contains(said))
    }

    /// What is said for every line of a field.
    #[must_use]
    pub fn every_line(&self, field: &str) -> Option<&str> {
        self.constants.iter().find(|(name, _)| name == field).map(|(_, value)| value.as_str())
    }

    /// Says what every line says of a field that says nothing there; nothing more where that is empty.
    pub fn say_every_line(&mut self, field: &str, value: &str) {
        self.constants.retain(|(name, _)| name != field);
        if !value.is_empty() {
            self.constants.push((field.to_owned(), value.to_owned()));
        }
    }

    /// Says in which column a field stands, by its number.
    pub fn say_field_is_in(&mut self, proposal: &Proposal, field: &str, column: usize) {
        self.columns.retain(|(name, _)| name != field);
        self.columns.push((field.to_owned(), proposal.name_of_column(column)));
    }

    /// Says what a column is, by its number; none where it is not taken in.
    pub fn say_column_is(&mut self, proposal: &Proposal, column: usize, field: Option<&str>) {
        let name = proposal.name_of_column(column);
        let before = proposal.columns.iter().find(|it| it.number == column).and_then(|it| it.field.as_deref());
        self.columns.retain(|(_, said)| *said != name);
        match field {
            Some(field) => self.say_field_is_in(proposal, field, column),
            // It would be found by its head again.
            None => {
                if let Some(before) = before {
                    self.columns.retain(|(said, _)| said != before);
                    self.columns.push((before.to_owned(), "0".to_owned()));
                }
            }
        }
    }
}

impl Proposal {
    /// What a column is called so that no other one is meant: its head, else its number.
    fn name_of_column(&self, number: usize) -> String {
        let title = |number: usize| self.columns.iter().find(|it| it.number == number).map(|it| it.title.as_str());
        let is_only =
            |name: &str| self.columns.iter().filter(|it| it.title.to_lowercase() == name.to_lowercase()).count() == 1;
        match title(number) {
            Some(name) if is_only(name) => name.to_owned(),
            _ => number.to_string(),
        }
    }

    /// The columns that may be what a question is after, by their numbers; none where it is after no column.
    #[must_use]
    pub fn columns_asked_about(&self, question: &Question) -> Vec<usize> {
        let all = self.columns.iter();
        match question {
            // Of two that are called alike the file's own words tell which.
            Question::Columns { columns, .. } => {
                let is_named = |title: &str| columns.iter().any(|name| name == title || name.starts_with(title));
                all.filter(|it| is_named(&it.title)).map(|it| it.number).collect()
            }
            Question::Either { number, .. } => vec![*number],
            Question::Column { .. } => all.map(|it| it.number).collect(),
            _ => Vec::new(),
        }
    }

    /// Takes out of what is said the fields that the table does not have. Whether there were any.
    pub fn without_strange_fields(&self, answers: &mut Answers) -> bool {
        let strange = |question: &Question| match question {
            Question::NoField { name, .. } => Some(name.clone()),
            _ => None,
        };
        let strange: Vec<String> = self.questions.iter().filter_map(strange).collect();
        answers.columns.retain(|(field, _)| !strange.contains(field));
        answers.constants.retain(|(field, _)| !strange.contains(field));
        !strange.is_empty()
    }
}
