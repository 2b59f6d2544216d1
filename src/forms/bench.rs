//! The forms of the chapter bench.

use super::form::Form;

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[];
