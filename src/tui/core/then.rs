//! What follows once an act is on disk. The page that enters an act says it in a word of its own; the word comes back to it with the
//! answer. The core carries it and does not look into it.

use std::any::Any;
use std::fmt::Debug;
use std::sync::Arc;

/// What follows once an act is on disk: nothing, or what the page that entered it made of a word of its own. Of an act that was taken
/// back or given back the word is [`crate::desk::Undone`].
#[derive(Clone, Debug, Default)]
pub struct Then(Option<Arc<dyn Word>>);

/// A word of a page.
trait Word: Any + Debug + Send + Sync {}

impl<W: Any + Debug + Send + Sync> Word for W {}

impl Then {
    /// Nothing follows but what follows of every act.
    pub const STAY: Then = Then(None);

    /// With a word of the page that enters the act.
    pub fn of(word: impl Any + Debug + Send + Sync) -> Then {
        Then(Some(Arc::new(word)))
    }

    /// The word, where it is of that kind.
    #[must_use]
    pub fn word<W: Any>(&self) -> Option<&W> {
        (self.0.as_deref()? as &dyn Any).downcast_ref()
    }
}

impl PartialEq for Then {
    /// Whether it is the same word, said once.
    fn eq(&self, other: &Then) -> bool {
        match (&self.0, &other.0) {
            (Some(one), Some(another)) => Arc::ptr_eq(one, another),
            (None, None) => true,
            _ => false,
        }
    }
}
