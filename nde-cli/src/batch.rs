//! Many pieces of work on all cores, results in the order of the pieces.
//!
//! No more pieces are in work at once than there are workers, so memory stays that of a few photos
//! however many are given. A piece that panics is a fault of this program: it costs that piece only.

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

/// Does the work for each piece. `done` is called on this thread after each, with how many are
/// done; a piece whose work panicked gives none.
pub(crate) fn each<Piece: Sync, Result: Send>(
    pieces: &[Piece],
    workers: usize,
    work: impl Fn(&Piece) -> Result + Sync,
    mut done: impl FnMut(usize, &Piece, Option<&Result>),
) -> Vec<Option<Result>> {
    let next = AtomicUsize::new(0);
    let mut results: Vec<Option<Result>> = pieces.iter().map(|_| None).collect();
    let (sender, receiver) = mpsc::channel();
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
        for (count, (index, result)) in receiver.iter().enumerate() {
            done(count + 1, &pieces[index], result.as_ref());
            results[index] = result;
        }
    });
    results
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_stand_in_order_and_a_panic_costs_one_piece() {
        let pieces: Vec<u32> = (0..40).collect();
        let square = |n: &u32| {
            assert_ne!(*n, 17, "on purpose");
            n * n
        };
        for workers in [1, 3, 64] {
            let mut count = 0;
            let results = each(&pieces, workers, square, |_, _, _| count += 1);
            assert_eq!(count, 40);
            for (n, result) in results.iter().enumerate() {
                let n = u32::try_from(n).unwrap();
                assert_eq!(*result, (n != 17).then_some(n * n));
            }
        }
    }

    #[test]
    fn nothing_to_do_is_done_at_once() {
        assert!(each(&[] as &[u8], 4, |n| *n, |_, _, _| ()).is_empty());
    }
}
