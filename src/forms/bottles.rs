//! The forms of the chapter bottles.

use super::form::Form;

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[];
