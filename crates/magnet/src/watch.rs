//! How far a question has come, and that it is no longer wanted: shared by who asks and what answers.
//!
//! A [`Watch`] is looked at between solves. A question that is stopped ends with [`Failure::Stopped`] after one solve at
//! most, and leaves nothing behind.
//!
//! ```
//! use coilwright_magnet::watch::Watch;
//!
//! let watch = Watch::new();
//! let work = watch.part(4); // four things are to be done
//! work.done();
//! assert_eq!(watch.share(), Some(0.25));
//! let next = watch.apart(); // another question of the same person
//! assert_eq!(next.share(), None);
//! watch.clone().stop(); // from another thread, say
//! assert!(work.check().is_err() && next.check().is_err());
//! ```

use crate::failure::Failure;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Shared by its clones. The default is nobody's: it is never stopped and counts nothing.
#[derive(Clone, Debug, Default)]
pub struct Watch(Option<Arc<State>>);

#[derive(Debug, Default)]
struct State {
    stopped: Arc<AtomicBool>,
    expected: AtomicUsize,
    done: AtomicUsize,
}

impl Watch {
    /// One that can be stopped, and counts.
    #[must_use]
    pub fn new() -> Self {
        Self(Some(Arc::default()))
    }

    /// One that counts for itself, and is stopped with this one: for one question of several.
    #[must_use]
    pub fn apart(&self) -> Self {
        Self(
            self.0
                .as_ref()
                .map(|state| Arc::new(State { stopped: state.stopped.clone(), ..State::default() })),
        )
    }

    /// The answer is no longer wanted.
    pub fn stop(&self) {
        if let Some(state) = &self.0 {
            state.stopped.store(true, Ordering::Relaxed);
        }
    }

    /// Whether it is no longer wanted.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.0.as_ref().is_some_and(|state| state.stopped.load(Ordering::Relaxed))
    }

    /// # Errors
    /// [`Failure::Stopped`] if the answer is no longer wanted.
    pub fn check(&self) -> Result<(), Failure> {
        if self.is_stopped() { Err(Failure::Stopped) } else { Ok(()) }
    }

    /// So many more things are to be done; the same watch, to be told when each is.
    pub fn part(&self, count: usize) -> &Self {
        if let Some(state) = &self.0 {
            state.expected.fetch_add(count, Ordering::Relaxed);
        }
        self
    }

    /// One of them is done. What ends because it was stopped is not.
    pub fn done(&self) {
        if let Some(state) = self.0.as_ref().filter(|_| !self.is_stopped()) {
            state.done.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// Share of what is known to be to do that is done; it may fall where more turns out to be. None before anything is known.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let state = self.0.as_ref()?;
        let expected = state.expected.load(Ordering::Relaxed);
        (expected > 0).then(|| (state.done.load(Ordering::Relaxed) as f64 / expected as f64).min(1.0))
    }
}

/// Who watches makes no difference to what is computed.
impl PartialEq for Watch {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}
