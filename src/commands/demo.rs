//! `demo`: an invented team's two seasons, replayed into a real garage, and a short tour of it.

use std::path::PathBuf;

use clap::Args;

use crate::commands::desk::{Desk, folder};
use crate::machine::Moment;
use crate::report::history::garages::DemoMade;
use crate::report::{Screen, Trouble};
use crate::store::{demo_files, replay};

/// Replay an invented team's two seasons, with a tour
#[derive(Debug, Args)]
pub(super) struct Demo {
    /// The folder to make the garage in
    #[arg(default_value = "reedbook-demo")]
    folder: PathBuf,
    /// Leave out the tour
    #[arg(long)]
    no_tour: bool,
}

/// Runs a line as if it had been typed.
pub(super) type RunLine = fn(&[&str], Screen) -> Result<(), Trouble>;

/// The tour: what a mechanic asks, and the command that answers.
const TOUR: [(&str, &[&str]); 7] = [
    ("What is in the garage?", &["bike", "list"]),
    ("What was on the 125 lately, in what air, and how did it run?", &["history", "moth", "--last", "2"]),
    ("What is different from the setup that won last summer?", &["compare", "moth", "9", "latest"]),
    (
        "What did the 250 run when the air was like this?",
        &[
            "find",
            "--bike",
            "ibex",
            "--temp",
            "12 C",
            "--baro",
            "805 hPa",
            "--humidity",
            "55",
            "--within",
            "1",
        ],
    ),
    (
        "The next venue lies 1,500 m higher. What does the 125 want there?",
        &["rejet", "moth", "--temp", "18 C", "--baro", "845 hPa", "--humidity", "45"],
    ),
    (
        "Two cylinders, each with its own jet. What does the twin want on a cool day by the sea?",
        &["rejet", "otter", "--temp", "12 C", "--baro", "1016 hPa", "--humidity", "60"],
    ),
    (
        "A day as hot as last summer: put the good one of then back. What is to do at the bike, and what speaks against it?",
        &[
            "rollback",
            "moth",
            "9",
            "--temp",
            "24 C",
            "--baro",
            "1000 hPa",
            "--humidity",
            "50",
            "--despite",
            "to see what it takes",
        ],
    ),
];

impl Demo {
    pub(super) fn run(&self, desk: &Desk, run_line: RunLine) -> Result<(), Trouble> {
        let root = folder()?.join(&self.folder);
        let moment = Moment { now: desk.moment.now, seed: Some("demo".into()) };
        let files = demo_files();
        let progress = desk.screen().progress();
        let (garage, done) =
            replay(&root, &files, &moment, |at, of| progress.to("replaying two seasons", at, of))?;
        let answer = DemoMade::new(garage.root().display().to_string(), &done);
        desk.screen().answer(&answer, || answer.text())?;
        if self.no_tour || desk.screen().json {
            return Ok(());
        }
        self.tour(&desk.screen(), run_line)
    }

    /// Runs the tour's commands on the new garage, each as if it had been typed there.
    fn tour(&self, screen: &Screen, run_line: RunLine) -> Result<(), Trouble> {
        let folder = self.folder.display().to_string();
        for (question, words) in TOUR {
            let typed: Vec<_> = words
                .iter()
                .map(|word| if word.contains(' ') { format!("\"{word}\"") } else { (*word).to_owned() })
                .collect();
            screen.say(&format!("\n{}\n$ reedbook {}\n", screen.strong(question), typed.join(" ")))?;
            let line = ["reedbook", "--garage", &folder].into_iter().chain(words.iter().copied());
            run_line(&line.collect::<Vec<_>>(), *screen)?;
        }
        screen.say(&format!("\nGo on by yourself:\n  cd {folder}\n  reedbook --help\nThe rollback can be rolled back:\n  reedbook rollback moth 38"))
    }
}
