//! Work on several threads whose results come out in order.

use std::collections::BTreeMap;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// How many results may wait for an earlier one, for each thread: enough that one slow page stops nobody, and
/// few enough that memory stays bounded.
const WAITING_FOR_EACH: usize = 4;

struct State<Output> {
    next: usize,
    taken: usize,
    ready: BTreeMap<usize, Output>,
    stopped: bool,
}

/// Calls `work` on each item, on `threads` threads, and hands the results to `take` on this thread, in the
/// items' order. At the first error of `take` nothing more is begun, and the error comes back.
pub fn in_order<Item: Sync, Output: Send, Error>(
    items: &[Item],
    threads: usize,
    work: impl Fn(&Item) -> Output + Sync,
    mut take: impl FnMut(Output) -> Result<(), Error>,
) -> Result<(), Error> {
    let threads = threads.clamp(1, items.len().max(1));
    if threads == 1 {
        return items.iter().try_for_each(|item| take(work(item)));
    }
    let state = Mutex::new(State { next: 0, taken: 0, ready: BTreeMap::new(), stopped: false });
    let changed = Condvar::new();
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                // Should `work` panic, the others must not wait for its result.
                let _stop = StopOnPanic { state: &state, changed: &changed };
                loop {
                    let mut guard = lock(&state);
                    while !guard.stopped && guard.next < items.len() && guard.next >= guard.taken + threads * WAITING_FOR_EACH {
                        guard = changed.wait(guard).unwrap_or_else(PoisonError::into_inner);
                    }
                    let index = guard.next;
                    if guard.stopped || index >= items.len() {
                        return;
                    }
                    guard.next += 1;
                    drop(guard);
                    let output = work(&items[index]);
                    lock(&state).ready.insert(index, output);
                    changed.notify_all();
                }
            });
        }
        // Nor must they wait for `take`, should it panic.
        let _stop = StopOnPanic { state: &state, changed: &changed };
        for index in 0..items.len() {
            let mut guard = lock(&state);
            let output = loop {
                match guard.ready.remove(&index) {
                    Some(output) => break output,
                    None if guard.stopped => return Ok(()),
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

fn lock<Output>(state: &Mutex<State<Output>>) -> MutexGuard<'_, State<Output>> {
    // The state is whole at every unlock, so a panic elsewhere doesn't spoil it.
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

struct StopOnPanic<'state, Output> {
    state: &'state Mutex<State<Output>>,
    changed: &'state Condvar,
}

impl<Output> Drop for StopOnPanic<'_, Output> {
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
        let items: Vec<usize> = (0..200).collect();
        let (begun, mut got) = (AtomicUsize::new(0), Vec::new());
        let slow_first = |&item: &usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            if item == 0 {
                thread::sleep(Duration::from_millis(50));
                assert!(begun.load(Ordering::SeqCst) <= 3 * WAITING_FOR_EACH, "the window is bounded");
            }
            item * 2
        };
        let done: Result<(), ()> = in_order(&items, 3, slow_first, |output| {
            got.push(output);
            Ok(())
        });
        assert_eq!(done, Ok(()));
        assert_eq!(got, items.iter().map(|item| item * 2).collect::<Vec<_>>());
    }

    #[test]
    fn an_error_stops_the_work() {
        let items: Vec<usize> = (0..1000).collect();
        let begun = AtomicUsize::new(0);
        let work = |&item: &usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            item
        };
        let done = in_order(&items, 2, work, |output| if output == 5 { Err("full") } else { Ok(()) });
        assert_eq!(done, Err("full"));
        assert!(begun.load(Ordering::SeqCst) < 20);
    }

    #[test]
    #[should_panic]
    fn a_panic_is_passed_on_and_nobody_waits() {
        let items: Vec<usize> = (0..100).collect();
        let work = |&item: &usize| if item == 7 { panic!("item 7") } else { item };
        let _ = in_order(&items, 2, work, |_| Ok::<(), ()>(()));
    }
}
