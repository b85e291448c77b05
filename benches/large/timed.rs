//! What is timed beside its peer, in turns.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use super::garage::Large;

/// One command beside another.
pub(crate) struct Work {
    name: &'static str,
    ours: String,
    peer: String,
    bound: f64,
    /// Files that are taken away before ours is timed.
    without: Vec<String>,
    /// What is done before ours is timed.
    first: Option<String>,
    writes: bool,
}

/// Medians of one size.
#[derive(Clone, Copy)]
pub(crate) struct Times {
    ours: f64,
    peer: f64,
    memory_kib: u64,
}

/// What is timed at every size.
pub(crate) struct Row {
    name: &'static str,
    bound: f64,
    times: Vec<Times>,
}

impl Work {
    /// Something that only reads.
    pub(crate) fn new(
        name: &'static str,
        ours: impl Into<String>,
        peer: impl Into<String>,
        bound: f64,
    ) -> Self {
        Self {
            name,
            ours: ours.into(),
            peer: peer.into(),
            bound,
            without: Vec::new(),
            first: None,
            writes: false,
        }
    }

    /// Something that writes: a number that is never the same stands for `{}`.
    pub(crate) fn writing(name: &'static str, ours: String, peer: String, bound: f64) -> Self {
        Self { writes: true, ..Self::new(name, ours, peer, bound) }
    }

    /// The same after these files were taken away.
    pub(crate) fn after(self, without: &[&str]) -> Self {
        Self { without: without.iter().map(|file| (*file).to_owned()).collect(), ..self }
    }

    /// The same after something was done that is not timed: a number that is never the same stands for `{}`.
    pub(crate) fn once_done(self, first: String) -> Self {
        Self { first: Some(first), ..self }
    }

    /// Times it and its peer in turns.
    pub(crate) fn time(&self, large: &Large, rounds: usize) -> Times {
        let (mut ours, mut peer, mut memory_kib) = (Vec::new(), Vec::new(), 0);
        let root = large.root();
        let _ = run(&root, &self.line(&self.ours, 0));
        for round in 1..=rounds {
            for file in &self.without {
                let _ = fs::remove_file(root.join(file));
            }
            if let Some(first) = &self.first {
                let _ = run(&root, &first.replace("{}", &round.to_string()));
            }
            let (time, memory) = run(&root, &self.line(&self.ours, round));
            ours.push(time);
            memory_kib = memory_kib.max(memory);
            peer.push(run(&root, &self.line(&self.peer, round)).0);
        }
        Times::of(median(ours), median(peer), memory_kib)
    }

    fn line(&self, words: &str, round: usize) -> String {
        let number = if self.writes { (150 + round).to_string() } else { String::new() };
        let line = words.replace("{}", &number);
        let others = ["git ", "sh ", "sqlite3 "];
        let program = env!("CARGO_BIN_EXE_reedbook");
        if others.iter().any(|other| line.starts_with(other)) { line } else { format!("{program} {line}") }
    }
}

/// Runs a line in a folder: time in s and the most memory in KiB.
pub(crate) fn run(folder: &Path, line: &str) -> (f64, u64) {
    let begin = Instant::now();
    let done = Command::new("/usr/bin/time")
        .args(["-f", "%M", "sh", "-c", &format!("{line} >/dev/null")])
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    let time = begin.elapsed();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{line}: {said}");
    (time.as_secs_f64(), said.lines().last().and_then(|line| line.trim().parse().ok()).unwrap_or_default())
}

/// The middle one.
pub(crate) fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

impl Times {
    /// Medians in s, the most memory in KiB.
    pub(crate) fn of(ours: f64, peer: f64, memory_kib: u64) -> Self {
        Self { ours, peer, memory_kib }
    }
}

impl Row {
    /// Nothing timed yet.
    pub(crate) fn of(work: &Work) -> Self {
        Self::named(work.name, work.bound)
    }

    /// Nothing timed yet, of what has a name and a bound.
    pub(crate) fn named(name: &'static str, bound: f64) -> Self {
        Self { name, bound, times: Vec::new() }
    }

    /// One size more.
    pub(crate) fn add(&mut self, times: Times) {
        self.times.push(times);
    }

    /// The head of the table.
    pub(crate) fn head(sizes: &[usize]) -> String {
        let sizes: Vec<String> = sizes.iter().map(|size| format!("{size:>9}")).collect();
        format!("{:<22}{}  grows      peer   ratio  bound   MiB", "", sizes.join(""))
    }

    /// Milliseconds at each size, how it grows (the exponent of size), the peer's at the largest, and their ratio.
    pub(crate) fn line(&self, sizes: &[usize]) -> String {
        let ms = |time: f64| time * 1_000.0;
        let tried = |figure: f64, places: usize| {
            if figure.is_nan() { "-".to_owned() } else { format!("{figure:.places$}") }
        };
        let each: Vec<String> = self.times.iter().map(|times| format!("{:>9.1}", ms(times.ours))).collect();
        let (first, last) = (self.times[0], self.times[self.times.len() - 1]);
        let larger = sizes[sizes.len() - 1] as f64 / sizes[0] as f64;
        let (ratio, grows) = (last.ours / last.peer, (last.ours / first.ours).ln() / larger.ln());
        let missed = if ratio > self.bound { " !" } else { "" };
        format!(
            "{:<22}{}  {grows:>5.2} {:>9} {:>7} {:>6.3} {:>5}{missed}",
            self.name,
            each.join(""),
            tried(ms(last.peer), 1),
            tried(ratio, 3),
            self.bound,
            last.memory_kib / 1_024
        )
    }
}
