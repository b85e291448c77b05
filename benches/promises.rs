//! What is promised of the record, tried: kills, failing calls, a full disk, a crowd, damaged files, the order of syncs. A line for each
//! promise with how often it was tried and what broke it; exit 1 where anything did.
//!
//! `cargo bench --bench promises` tries a little of each. `PROMISES_KILLS=1000 PROMISES_EVERY=1 PROMISES_EACH=100` is the whole attack;
//! `PROMISES_SEED` takes other moments. Failing calls and the order of syncs need `strace`; without it they are said not to be tried.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]
#![allow(
    clippy::print_stdout,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss
)]

#[path = "promises/crowd.rs"]
mod crowd;
#[path = "promises/damage.rs"]
mod damage;
#[path = "promises/faults.rs"]
mod faults;
#[path = "promises/kills.rs"]
mod kills;
#[path = "promises/shed.rs"]
mod shed;
#[path = "promises/syncs.rs"]
mod syncs;

/// One promise, and what came of it.
pub(crate) struct Kept {
    promise: &'static str,
    tried: usize,
    broken: Vec<String>,
    more: String,
}

impl Kept {
    pub(crate) fn new(promise: &'static str) -> Self {
        Self { promise, tried: 0, broken: Vec::new(), more: String::new() }
    }

    /// Counts one try; what is said of it broke the promise.
    pub(crate) fn tried(&mut self, broken: Result<(), String>) {
        self.tried += 1;
        self.broken.extend(broken.err());
    }
}

/// A number of the environment, or what is tried without it.
pub(crate) fn wanted(name: &str, otherwise: usize) -> usize {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

type Tried = fn() -> Vec<Kept>;

fn main() {
    if !std::env::args().any(|word| word == "--bench") {
        return;
    }
    let only = std::env::var("PROMISES_ONLY").unwrap_or_default();
    let all: [(&str, Tried); 5] = [
        ("kills", kills::tried),
        ("faults", faults::tried),
        ("crowd", crowd::tried),
        ("damage", damage::tried),
        ("syncs", syncs::tried),
    ];
    let mut broken = false;
    println!("{:<66} {:>6} {:>6}", "promise", "tried", "broken");
    for (_, tried) in all.iter().filter(|(name, _)| only.is_empty() || only == *name) {
        for kept in tried() {
            println!("{:<66} {:>6} {:>6}  {}", kept.promise, kept.tried, kept.broken.len(), kept.more);
            kept.broken.iter().take(5).for_each(|what| println!("    {what}"));
            broken |= !kept.broken.is_empty();
        }
    }
    std::process::exit(i32::from(broken));
}
