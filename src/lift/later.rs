//! Networks that are made ready when they are first needed, or before by another thread.

use std::sync::{Arc, LazyLock};

use crate::net::NetError;

type Made<T> = LazyLock<Result<T, NetError>, Box<dyn FnOnce() -> Result<T, NetError> + Send>>;

/// Something that takes milliseconds to make and may not be needed; made once, for all that hold it.
pub(super) struct Later<T>(Arc<Made<T>>);

impl<T> Later<T> {
    pub(super) fn new(make: impl FnOnce() -> Result<T, NetError> + Send + 'static) -> Self {
        Self(Arc::new(LazyLock::new(Box::new(make))))
    }

    /// Makes it, if nobody has done so yet. What goes wrong is told to whoever needs it.
    pub(super) fn prepare(&self) {
        LazyLock::force(&self.0);
    }

    /// The thing itself.
    ///
    /// # Errors
    /// Where it couldn't be made.
    pub(super) fn get(&self) -> Result<&T, NetError> {
        LazyLock::force(&self.0).as_ref().map_err(NetError::clone)
    }
}

impl<T> Clone for Later<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    #[test]
    fn it_is_made_once_and_an_error_comes_each_time() {
        static MADE: AtomicUsize = AtomicUsize::new(0);
        let later = Later::new(|| Ok(MADE.fetch_add(1, Ordering::Relaxed)));
        let other = later.clone();
        assert_eq!(MADE.load(Ordering::Relaxed), 0);
        other.prepare();
        assert!(matches!((later.get(), other.get()), (Ok(0), Ok(0))));
        let broken: Later<()> = Later::new(|| Err(NetError::Weights("none".into())));
        broken.prepare();
        assert!(broken.get().is_err() && broken.get().is_err());
    }
}
