//! What is found out apart, in a thread of its own that reads the file by itself, so that what is entered meanwhile does not wait. A
//! page says what is to be found; the core runs it, and carries what was found back without looking into it.

use std::any::{Any, TypeId};
use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use crate::cellar::core::moment::Moment;
use crate::desk::{Access, Desk, DeskError};
use crate::log::Trouble;
use crate::tui::core::work::Answer;
use crate::tui::edge::screen::Mailbox;

/// What was found.
#[derive(Clone)]
pub struct Found(Arc<dyn Any + Send + Sync>);

impl Found {
    /// Something found.
    pub fn new(found: impl Any + Send + Sync) -> Found {
        Found(Arc::new(found))
    }

    /// What it is, where it is of that kind.
    #[must_use]
    pub fn of<T: Any>(&self) -> Option<&T> {
        (*self.0).downcast_ref()
    }
}

impl fmt::Debug for Found {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Found")
    }
}

/// What a search has at hand: the file, the time, and whether it is still wanted.
#[derive(Debug)]
pub struct Apart {
    path: PathBuf,
    now: Moment,
    number: u32,
    stop: Arc<AtomicBool>,
    mailbox: Option<Mailbox<Answer>>,
}

impl Apart {
    /// At hand where nobody waits for what is found on the way: for tests.
    #[must_use]
    pub fn here(path: PathBuf, now: Moment) -> Apart {
        Apart { path, now, number: 0, stop: Arc::default(), mailbox: None }
    }

    /// The cellar, opened once more.
    pub fn desk(&self) -> Result<Desk, DeskError> {
        let mut desk = Desk::open(&self.path, Access::ReadOnly)?;
        desk.heed_clock(self.now, None);
        Ok(desk)
    }

    /// Now.
    #[must_use]
    pub fn now(&self) -> Moment {
        self.now
    }

    /// Whether the search is to stop: the best so far will do.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Tells the best so far. Where nobody listens any more, the search is to stop.
    pub fn so_far(&self, found: impl Any + Send + Sync) {
        let Some(mailbox) = &self.mailbox else { return };
        if !mailbox.post(Answer::SoFar { number: self.number, found: Found::new(found) }) {
            self.stop.store(true, Ordering::Relaxed);
        }
    }
}

/// How a search goes.
type Find = dyn Fn(&Apart) -> Result<Found, String> + Send + Sync;

/// Something to be found out apart.
#[derive(Clone)]
pub struct Search {
    /// A search of one kind takes the place of another one; one of none goes on beside all.
    kind: Option<TypeId>,
    find: Arc<Find>,
}

impl Search {
    /// A search by what it does. Why nothing was found is a sentence.
    pub fn of<T: Any + Send + Sync>(find: impl Fn(&Apart) -> Result<T, String> + Send + Sync + 'static) -> Search {
        Search { kind: Some(TypeId::of::<T>()), find: Arc::new(move |apart| find(apart).map(Found::new)) }
    }

    /// The same, beside others of its kind: of pages that stand on one another each waits for its own.
    pub fn beside<T: Any + Send + Sync>(find: impl Fn(&Apart) -> Result<T, String> + Send + Sync + 'static) -> Search {
        Search { kind: None, ..Search::of(find) }
    }

    /// A search through the facts of the cellar, which is opened for it once more.
    pub fn in_facts<T: Any + Send + Sync>(
        find: impl Fn(&Desk, Moment) -> Result<T, DeskError> + Send + Sync + 'static,
    ) -> Search {
        Search::of(move |apart| {
            let found = apart.desk().and_then(|desk| find(&desk, apart.now));
            found.map_err(|error| error.to_string())
        })
    }

    /// Searches.
    pub fn find(&self, apart: &Apart) -> Result<Found, String> {
        (self.find)(apart)
    }
}

impl fmt::Debug for Search {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Search")
    }
}

impl PartialEq for Search {
    /// Whether it is the same one.
    fn eq(&self, other: &Search) -> bool {
        Arc::ptr_eq(&self.find, &other.find)
    }
}

/// How something is looked up.
type Look = dyn Fn(&Desk) -> Result<Found, DeskError> + Send + Sync;

/// Something to be looked up at the desk itself, between two entries: short work only, for what is entered waits meanwhile.
#[derive(Clone)]
pub struct Lookup(Arc<Look>);

impl Lookup {
    /// A look-up by what it does.
    pub fn of<T: Any + Send + Sync>(look: impl Fn(&Desk) -> Result<T, DeskError> + Send + Sync + 'static) -> Lookup {
        Lookup(Arc::new(move |desk| look(desk).map(Found::new)))
    }

    /// Looks it up.
    pub fn look(&self, desk: &Desk) -> Result<Found, String> {
        (self.0)(desk).map_err(|error| error.to_string())
    }
}

impl fmt::Debug for Lookup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Lookup")
    }
}

impl PartialEq for Lookup {
    /// Whether it is the same one.
    fn eq(&self, other: &Lookup) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// The searches that run. They stop when this is dropped.
#[derive(Debug, Default)]
pub(in crate::tui) struct Searches(Vec<Running>);

#[derive(Debug)]
struct Running {
    kind: Option<TypeId>,
    number: u32,
    stop: Arc<AtomicBool>,
}

impl Running {
    fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

impl Searches {
    /// Searches in place of what runs of the same kind. What is found is posted under the number.
    pub(in crate::tui) fn begin(
        &mut self,
        (number, search): (u32, Search),
        (path, now): (PathBuf, Moment),
        mailbox: &Mailbox<Answer>,
    ) -> Vec<Answer> {
        for running in self.0.extract_if(.., |running| running.kind.is_some() && running.kind == search.kind) {
            running.stop();
        }
        let stop = Arc::new(AtomicBool::new(false));
        self.0.push(Running { kind: search.kind, number, stop: Arc::clone(&stop) });
        let mailbox = mailbox.clone();
        let run = move || {
            let apart = Apart { path, now, number, stop, mailbox: Some(mailbox) };
            let told = search.find(&apart);
            // Whoever asked may have left.
            let _ = apart.mailbox.map(|mailbox| mailbox.post(Answer::Found { number, told }));
        };
        if thread::Builder::new().name("apart".to_owned()).spawn(run).is_ok() {
            return Vec::new();
        }
        let why = Trouble::NoMemory;
        let told = Err(format!("Nothing can be worked out beside the screen now: {why}. {}", why.next()));
        vec![Answer::Found { number, told }]
    }

    /// Stops a search: it tells the best it has.
    pub(in crate::tui) fn stop(&self, number: u32) {
        for running in self.0.iter().filter(|running| running.number == number) {
            running.stop();
        }
    }
}

impl Drop for Searches {
    fn drop(&mut self) {
        for running in &self.0 {
            running.stop();
        }
    }
}
