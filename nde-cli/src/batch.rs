//! Many pieces of work on all cores.
//!
//! No more pieces are in work at once than there are workers, so memory stays that of a few photos
//! however many are given. A piece that panics is a fault of this program: it costs that piece only.

use std::ops::ControlFlow;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// Most workers. Chosen: eight large photos in work need about as much memory as a small
/// computer has.
const MOST_WORKERS: usize = 8;

/// One worker a core, within reason.
#[must_use]
pub(crate) fn workers() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from).min(MOST_WORKERS)
}

/// Does the work for each piece. `done` is called on this thread with the place and the result of
/// each, as they come; a piece whose work panicked gives none. Once `done` says to stop, no further
/// piece is begun.
pub(crate) fn each<Piece: Sync, Result: Send>(
    pieces: &[Piece],
    workers: usize,
    work: impl Fn(&Piece) -> Result + Sync,
    mut done: impl FnMut(usize, Option<Result>) -> ControlFlow<()>,
) {
    let next = AtomicUsize::new(0);
    // A worker waits while its result is not taken, so that results cannot pile up.
    let (sender, receiver) = mpsc::sync_channel(workers);
    std::thread::scope(|scope| {
        for _ in 0..workers.clamp(1, pieces.len().max(1)) {
            let (sender, next, work) = (sender.clone(), &next, &work);
            scope.spawn(move || {
                while let Some((index, piece)) = {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    pieces.get(index).map(|piece| (index, piece))
                } {
                    let result = catch_unwind(AssertUnwindSafe(|| work(piece))).ok();
                    if sender.send((index, result)).is_err() {
                        return; // nobody waits any more
                    }
                }
            });
        }
        drop(sender);
        for (index, result) in receiver {
            if done(index, result).is_break() {
                break;
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_is_done_once_and_a_panic_costs_one_piece() {
        let pieces: Vec<u32> = (0..40).collect();
        let square = |n: &u32| {
            assert_ne!(*n, 17, "on purpose");
            n * n
        };
        for workers in [1, 3, 64] {
            let mut results = vec![None; 40];
            each(&pieces, workers, square, |n, result| {
                assert_eq!(results[n], None);
                results[n] = Some(result);
                ControlFlow::Continue(())
            });
            for (n, result) in results.iter().enumerate() {
                let n = u32::try_from(n).unwrap();
                assert_eq!(*result, Some((n != 17).then_some(n * n)));
            }
        }
    }

    #[test]
    fn a_stop_begins_nothing_new() {
        let pieces: Vec<u32> = (0..1000).collect();
        let begun = AtomicUsize::new(0);
        let work = |_: &u32| begun.fetch_add(1, Ordering::Relaxed);
        each(&pieces, 2, work, |_, _| ControlFlow::Break(()));
        assert!(begun.into_inner() < 10);
    }

    #[test]
    fn nothing_to_do_is_done_at_once() {
        each(&[] as &[u8], 4, |n| *n, |_, _| panic!("nothing was given"));
    }
}
