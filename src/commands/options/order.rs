//! In what order runs are listed, the same at every list.

use clap::{Args, ValueEnum};

use crate::advice::runs::{By, RunOnBike};

/// A column that runs are put in order by.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum OrderColumn {
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

impl From<OrderColumn> for By {
    fn from(column: OrderColumn) -> Self {
        match column {
            OrderColumn::Date => Self::Date,
            OrderColumn::Place => Self::Place,
            OrderColumn::Air => Self::Air,
            OrderColumn::Engine => Self::Engine,
            OrderColumn::Main => Self::Main,
            OrderColumn::Clip => Self::Clip,
            OrderColumn::Pilot => Self::Pilot,
            OrderColumn::Spark => Self::Spark,
            OrderColumn::Verdict => Self::Verdict,
            OrderColumn::Lap => Self::Lap,
        }
    }
}

/// The order of a list of runs.
#[derive(Debug, Clone, Default, Args)]
pub(in crate::commands) struct OrderOptions {
    /// Order by
    #[arg(long, value_name = "COLUMN", hide_possible_values = true)]
    by: Option<OrderColumn>,
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
        match self.by.unwrap_or(OrderColumn::Date) {
            OrderColumn::Date => "day",
            OrderColumn::Place => "place",
            OrderColumn::Air => "air %",
            OrderColumn::Engine => "engine",
            OrderColumn::Main | OrderColumn::Clip | OrderColumn::Pilot => "jets",
            OrderColumn::Spark => "spark",
            OrderColumn::Verdict => "full",
            OrderColumn::Lap => "lap",
        }
    }

    /// Puts things that are about a run in order, those about none last.
    pub(in crate::commands) fn sort<'r, T>(
        &self,
        things: &mut [T],
        run: impl Fn(&T) -> Option<RunOnBike<'r>>,
    ) {
        let by = self.by.map_or(By::Date, By::from);
        things.sort_by(|one, other| match (run(one), run(other)) {
            (Some(one), Some(other)) => by.order(self.reverse, one, other),
            (one, other) => other.is_some().cmp(&one.is_some()),
        });
    }
}
