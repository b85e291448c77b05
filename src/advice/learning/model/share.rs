//! Work shared out among the machine's cores: an answer is waited for at the side of the track.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::thread;

/// Threads at most: with more, starting them costs what they save.
const MOST_WORKERS: usize = 4;

/// The same as mapping the pieces one after the other, with all of the cores at it; alone where there are fewer than
/// `worth_sharing` of them.
pub(in crate::advice::learning) fn shared_out<P: Sync, T: Send>(
    pieces: &[P],
    worth_sharing: usize,
    each: impl Fn(&P) -> T + Sync,
) -> Vec<T> {
    let workers = thread::available_parallelism().map_or(1, NonZero::get).min(MOST_WORKERS);
    if workers == 1 || pieces.len() < worth_sharing.max(2) {
        return pieces.iter().map(each).collect();
    }
    thread::scope(|scope| {
        let parts = pieces.chunks(pieces.len().div_ceil(workers));
        let parts: Vec<_> =
            parts.map(|part| scope.spawn(|| part.iter().map(&each).collect::<Vec<T>>())).collect();
        let joined = parts.into_iter().map(|part| part.join().unwrap_or_else(|panic| resume_unwind(panic)));
        joined.flatten().collect()
    })
}

#[cfg(test)]
mod tests {
    use super::shared_out;

    #[test]
    fn the_order_stays() {
        let pieces: Vec<u32> = (0..1001).collect();
        let doubled: Vec<u32> = pieces.iter().map(|piece| 2 * piece).collect();
        assert_eq!(shared_out(&pieces, 1, |piece| 2 * piece), doubled);
        assert_eq!(shared_out(&pieces, 5000, |piece| 2 * piece), doubled);
        assert!(shared_out(&[] as &[u32], 1, |piece| 2 * piece).is_empty());
    }
}
