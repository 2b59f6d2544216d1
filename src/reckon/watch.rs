//! Long work under way: how far it is, and whether it is wanted still.

/// Who is told how far some work is, and says whether it is wanted still; nobody, where it is short. Work that is not wanted any more ends
/// soon with what it has.
#[derive(Clone, Copy, Default)]
pub struct Watch<'a>(Option<&'a dyn Fn(f64) -> bool>);

impl<'a> Watch<'a> {
    /// Nobody: the work is done to its end.
    pub const NOBODY: Watch<'static> = Watch(None);

    /// Somebody who is told which part of one is done.
    #[must_use]
    pub fn by(told: &'a dyn Fn(f64) -> bool) -> Watch<'a> {
        Watch(Some(told))
    }

    /// Tells that such a part is done. Whether more is wanted.
    #[must_use]
    pub fn wanted(&self, part: f64) -> bool {
        self.0.is_none_or(|told| told(part))
    }
}
