//! Simulated seasons with the program in the loop: the same families, rules and scores as in `tests/learning/families_table.rs`, and
//! beside them a mechanic who types into the real program and does what it says.
//!
//! ```text
//! cargo bench --bench seasons
//! SEASONS_FAMILIES=swapped,leaks SEASONS_BIKES=10 cargo bench --bench seasons
//! ```
//!
//! `SEASONS_BIKES` (20 a family), `SEASONS_DAYS` (14), `SEASONS_SEED` (1) and `SEASONS_FAMILIES` (parts of their names,
//! divided by commas) change what is ridden. A season takes the program some seconds. Not a test: it says how good the
//! advice is, which is no matter of right or wrong.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a bench may fail loudly
#![allow(clippy::print_stdout, clippy::disallowed_methods)] // it prints its table, and starts the program

#[path = "../tests/simulation/families.rs"]
mod families;
#[path = "seasons/mechanic.rs"]
mod mechanic;

use std::time::Instant;

use families::advisers::{CONTENDERS, Contender};
use families::scores::{self, Extent, HEAD};
use mechanic::Mechanic;

fn main() {
    let program =
        Contender { name: "the program", is_rule: false, new: |known| Box::new(Mechanic::new(known)) };
    let everyone: Vec<Contender> = std::iter::once(program).chain(CONTENDERS).collect();
    let extent = Extent::asked(20);
    println!("{} bikes a family, {} race days each\n{HEAD}", extent.bikes, extent.days);
    let begin = Instant::now();
    let mut ridden = Vec::new();
    for family in scores::asked_families() {
        let scores = scores::family(family, extent, &everyone);
        print!("{}", scores::rows(family, &scores));
        for (words, times) in mechanic::take_troubles() {
            println!("    {times} times: {words}");
        }
        ridden.push(scores);
    }
    print!("{}", scores::over_all(&ridden));
    println!("{:.0} s", begin.elapsed().as_secs_f64());
}
