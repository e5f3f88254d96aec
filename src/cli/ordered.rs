//! Work on several threads whose results come out in order.

use std::collections::BTreeMap;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// How many results may wait for an earlier one, for each thread: enough that one slow page stops nobody, and
/// few enough that memory stays bounded.
const WAITING_FOR_EACH: usize = 4;

struct State<Items, Output> {
    items: Items,
    next: usize,
    taken: usize,
    ready: BTreeMap<usize, Output>,
    stopped: bool,
    /// Whether the items have come to their end: `next` is then their number.
    ended: bool,
}

/// Calls `work` on each item, on `threads` threads, and hands the results to `take` on this thread, in the
/// items' order. Items are drawn when a thread is free for them. At the first error of `take` nothing more is
/// begun, and the error comes back.
pub fn in_order<Item, Output: Send, Error>(
    items: impl Iterator<Item = Item> + Send,
    threads: usize,
    work: impl Fn(Item) -> Output + Sync,
    mut take: impl FnMut(Output) -> Result<(), Error>,
) -> Result<(), Error> {
    if threads <= 1 {
        return items.into_iter().try_for_each(|item| take(work(item)));
    }
    let state = Mutex::new(State { items, next: 0, taken: 0, ready: BTreeMap::new(), stopped: false, ended: false });
    let changed = Condvar::new();
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                // Should `work` panic, the others must not wait for its result.
                let _stop = StopOnPanic { state: &state, changed: &changed };
                loop {
                    let mut guard = lock(&state);
                    while !guard.stopped && !guard.ended && guard.next >= guard.taken + threads * WAITING_FOR_EACH {
                        guard = changed.wait(guard).unwrap_or_else(PoisonError::into_inner);
                    }
                    if guard.stopped || guard.ended {
                        return;
                    }
                    let Some(item) = guard.items.next() else {
                        guard.ended = true;
                        changed.notify_all();
                        return;
                    };
                    let index = guard.next;
                    guard.next += 1;
                    drop(guard);
                    let output = work(item);
                    lock(&state).ready.insert(index, output);
                    changed.notify_all();
                }
            });
        }
        // Nor must they wait for `take`, should it panic.
        let _stop = StopOnPanic { state: &state, changed: &changed };
        for index in 0.. {
            let mut guard = lock(&state);
            let output = loop {
                match guard.ready.remove(&index) {
                    Some(output) => break output,
                    None if guard.stopped || guard.ended && index == guard.next => return Ok(()),
                    None => guard = changed.wait(guard).unwrap_or_else(PoisonError::into_inner),
                }
            };
            guard.taken = index + 1;
            drop(guard);
            changed.notify_all();
            if let Err(error) = take(output) {
                lock(&state).stopped = true;
                changed.notify_all();
                return Err(error);
            }
        }
        Ok(())
    })
}

fn lock<Items, Output>(state: &Mutex<State<Items, Output>>) -> MutexGuard<'_, State<Items, Output>> {
    // The state is whole at every unlock, so a panic elsewhere doesn't spoil it.
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

struct StopOnPanic<'state, Items, Output> {
    state: &'state Mutex<State<Items, Output>>,
    changed: &'state Condvar,
}

impl<Items, Output> Drop for StopOnPanic<'_, Items, Output> {
    fn drop(&mut self) {
        if thread::panicking() {
            lock(self.state).stopped = true;
            self.changed.notify_all();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    #[test]
    fn results_come_in_order_and_few_wait() {
        let (begun, mut got) = (AtomicUsize::new(0), Vec::new());
        let slow_first = |item: usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            if item == 0 {
                thread::sleep(Duration::from_millis(50));
                assert!(begun.load(Ordering::SeqCst) <= 3 * WAITING_FOR_EACH, "the window is bounded");
            }
            item * 2
        };
        let done: Result<(), ()> = in_order(0..200, 3, slow_first, |output| {
            got.push(output);
            Ok(())
        });
        assert_eq!(done, Ok(()));
        assert_eq!(got, (0..200).map(|item| item * 2).collect::<Vec<_>>());
    }

    #[test]
    fn an_error_stops_the_work() {
        let begun = AtomicUsize::new(0);
        let work = |item: usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            item
        };
        let done = in_order(0..1000, 2, work, |output| if output == 5 { Err("full") } else { Ok(()) });
        assert_eq!(done, Err("full"));
        assert!(begun.load(Ordering::SeqCst) < 20);
    }

    #[test]
    #[should_panic]
    fn a_panic_is_passed_on_and_nobody_waits() {
        let work = |item: usize| if item == 7 { panic!("item 7") } else { item };
        let _ = in_order(0..100, 2, work, |_| Ok::<(), ()>(()));
    }
}
