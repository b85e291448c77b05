//! The air of a long list: `reedbook air --csv` beside numpy, which reads, computes and writes the same columns, and beside `CoolProp`,
//! one value at a time. `LARGE_PYTHON` is a Python that has both; without it the two are said not to be tried.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use super::timed::{Row, Times, run};

/// Bounds: of numpy's time, and of `CoolProp`'s for one value.
const OF_NUMPY: f64 = 1.0;
const OF_COOLPROP: f64 = 1.0 / 300.0;
/// Values that `CoolProp` is asked for: it is slow, and its time grows with their number.
const VALUES: usize = 20_000;

/// Times a sixteenth, a quarter and all of so many airs.
pub(crate) fn rows(airs: usize, rounds: usize) -> (Vec<usize>, Vec<Row>) {
    let python = std::env::var("LARGE_PYTHON").unwrap_or_default();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let sizes = vec![airs / 16, airs / 4, airs];
    let mut rows =
        vec![Row::named("airs of a CSV, numpy", OF_NUMPY), Row::named("the same, CoolProp", OF_COOLPROP)];
    for size in &sizes {
        let list = written(folder.path(), *size);
        let ours = format!("{} air --csv {list}", env!("CARGO_BIN_EXE_reedbook"));
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/large/airs.py");
        let numpy = format!("{python} {script} numpy {list} /dev/null");
        let mut times = (Vec::new(), Vec::new());
        let mut memory_kib = 0;
        for _ in 0..rounds {
            let (time, memory) = run(folder.path(), &ours);
            times.0.push(time);
            memory_kib = memory_kib.max(memory);
            if !python.is_empty() {
                times.1.push(run(folder.path(), &numpy).0);
            }
        }
        let few = written(folder.path(), VALUES.min(*size));
        let coolprop = if python.is_empty() {
            f64::NAN
        } else {
            run(folder.path(), &format!("{python} {script} coolprop {few} /dev/null")).0
                / VALUES.min(*size) as f64
        };
        let ours = super::timed::median(times.0);
        let peer = if python.is_empty() { f64::NAN } else { super::timed::median(times.1) };
        rows[0].add(Times::of(ours, peer, memory_kib));
        rows[1].add(Times::of(ours, coolprop * *size as f64, memory_kib));
    }
    (sizes, rows)
}

/// A list of so many airs, none like another.
fn written(folder: &Path, airs: usize) -> String {
    let mut random = fastrand::Rng::with_seed(airs as u64);
    let mut text = "temp,baro,humidity\n".to_owned();
    for _ in 0..airs {
        let (temp, baro) = (40.0 * random.f64(), 850.0 + 190.0 * random.f64());
        writeln!(text, "{temp:.1},{baro:.1},{:.0}", 20.0 + 70.0 * random.f64()).unwrap();
    }
    let path = folder.join(format!("{airs}.csv"));
    fs::write(&path, text).expect("it is written");
    path.to_string_lossy().into_owned()
}
