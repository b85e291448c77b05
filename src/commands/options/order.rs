//! In what order runs are listed, the same at every list.

use clap::{Args, ValueEnum};

use crate::advice::runs::{By, Run};

/// A column that runs are put in order by.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Column {
    /// The newest first
    Date,
    /// By the alphabet
    Place,
    /// The densest first
    Air,
    /// By the alphabet
    Engine,
    /// The largest main jet first
    Main,
    /// The clip's groove, from the top
    Clip,
    /// The largest pilot jet first
    Pilot,
    /// The earliest spark first
    Spark,
    /// The leanest first
    Verdict,
    /// The fastest first
    Lap,
}

impl From<Column> for By {
    fn from(column: Column) -> Self {
        match column {
            Column::Date => Self::Date,
            Column::Place => Self::Place,
            Column::Air => Self::Air,
            Column::Engine => Self::Engine,
            Column::Main => Self::Main,
            Column::Clip => Self::Clip,
            Column::Pilot => Self::Pilot,
            Column::Spark => Self::Spark,
            Column::Verdict => Self::Verdict,
            Column::Lap => Self::Lap,
        }
    }
}

/// The order of a list of runs.
#[derive(Debug, Clone, Default, Args)]
pub(in crate::commands) struct OrderOptions {
    /// Order by
    #[arg(long, value_name = "COLUMN", hide_possible_values = true)]
    by: Option<Column>,
    /// The other way round
    #[arg(long)]
    reverse: bool,
}

impl OrderOptions {
    /// Whether an order was asked for.
    pub(in crate::commands) fn is_given(&self) -> bool {
        self.by.is_some() || self.reverse
    }

    /// Head of the column that it is by.
    pub(in crate::commands) fn column(&self) -> &'static str {
        match self.by.unwrap_or(Column::Date) {
            Column::Date => "day",
            Column::Place => "place",
            Column::Air => "air %",
            Column::Engine => "engine",
            Column::Main | Column::Clip | Column::Pilot => "jets",
            Column::Spark => "spark",
            Column::Verdict => "full",
            Column::Lap => "lap",
        }
    }

    /// Puts things that are about a run in order, those about none last.
    pub(in crate::commands) fn sort<'r, T>(&self, things: &mut [T], run: impl Fn(&T) -> Option<Run<'r>>) {
        let by = self.by.map_or(By::Date, By::from);
        things.sort_by(|one, other| match (run(one), run(other)) {
            (Some(one), Some(other)) => by.order(self.reverse, one, other),
            (one, other) => other.is_some().cmp(&one.is_some()),
        });
    }
}
