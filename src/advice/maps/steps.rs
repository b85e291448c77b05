//! How far the cells of a fuel map go in one step: as the trim of the whole map does, a few sizes leaner at most than what is on the
//! bike, with plug and piston read in between; and no farther above what theory wants than a jet is taken.

use crate::advice::learning::SIZES_ABOVE;
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;
use crate::notebook::{FuelMapUnit, Injection, MapTable, Shares};
use crate::quantity::{Measure, nearly_equal};

/// Cells of a row that differ by more than this, as parts of the fuel, were not trimmed together: a thousandth of a millisecond is as
/// much in a short pulse (common practice, no source).
const TOGETHER: f64 = 0.02;

/// Closer than this is the same step.
const SAME: f64 = 1e-6;

/// The steps of a map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrimSteps {
    /// One size, as a part of the baseline's fuel.
    size: f64,
}

impl TrimSteps {
    /// For an injection, with the size of the trim in configs/shares.toml.
    pub fn of(injection: &Injection, shares: &Shares) -> Self {
        let trim = injection.trim.as_ref().map_or(0.0, Measure::si);
        Self { size: shares.trim_size_percent() / 100.0 / (1.0 + trim) }
    }

    /// The most that is taken away in one step, as a part of the baseline's fuel.
    pub fn step(self) -> f64 {
        f64::from(SIZES_LEANER_IN_ONE_STEP) * self.size
    }

    /// The most fuel over the baseline's that is set where theory wants `theory`: so many sizes above it as of a jet.
    #[expect(clippy::cast_precision_loss, reason = "a few sizes")]
    pub fn most(self, theory: f64) -> f64 {
        theory + SIZES_ABOVE as f64 * self.size
    }

    /// Fuel over the baseline's after so many steps from what is on the bike to what is wanted.
    pub fn after(self, steps: usize, wanted: f64, now: f64) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a few steps")]
        let taken = steps as f64 * self.step();
        wanted.max(now - taken)
    }

    /// How many steps it takes for all rows, wanted and now; 1 where one does.
    pub fn count(self, rows: &[(f64, f64)]) -> usize {
        let most = rows.iter().map(|(wanted, now)| (now - wanted) / self.step()).fold(1.0, f64::max);
        // A trim is never so far off that this would not fit.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
        let count = (most - SAME).ceil() as usize;
        count
    }
}

/// Fuel that each row of the map on the bike passes over the same row of the baseline's; none where the maps do not have the same axes,
/// or cells of one row were changed unlike each other.
pub fn fuel_over(before: &MapTable, now: &MapTable, injection: &Injection) -> Option<Vec<f64>> {
    let rows = rows_over(before, now, injection)?.into_iter();
    rows.map(|(least, most)| (most - least <= TOGETHER).then_some(most)).collect()
}

/// Fuel that a map passes over what another passes, in the cell where that is least; none where they do not have the same axes.
pub fn least_over(before: &MapTable, now: &MapTable, injection: &Injection) -> Option<f64> {
    rows_over(before, now, injection)?.into_iter().map(|(least, _)| least).reduce(f64::min)
}

/// The least and the most at a throttle, 0 to 1: in the row of it, or in those it lies between.
pub fn over_at(
    before: &MapTable,
    now: &MapTable,
    injection: &Injection,
    throttle: f64,
) -> Option<(f64, f64)> {
    let rows = rows_over(before, now, injection)?;
    let (openings, percent) = (&before.throttle, 100.0 * throttle);
    let last = rows.len().checked_sub(1)?;
    let above = openings.iter().position(|opening| *opening >= percent - SAME).unwrap_or(last);
    let below = openings.iter().rposition(|opening| *opening <= percent + SAME).unwrap_or(0);
    let near = rows.get(below.min(above)..=below.max(above))?.iter().copied();
    near.reduce(|all, row| (all.0.min(row.0), all.1.max(row.1)))
}

/// The least and the most of each row; none where the maps do not have the same axes.
fn rows_over(before: &MapTable, now: &MapTable, injection: &Injection) -> Option<Vec<(f64, f64)>> {
    let dead_time_ms = injection.dead_time.as_ref().map_or(0.0, |time| 1e3 * time.si());
    let nothing = match injection.fuel_map_unit? {
        FuelMapUnit::Ms => dead_time_ms,
        FuelMapUnit::Mg => 0.0,
        FuelMapUnit::Percent => -100.0,
    };
    let same = |one: &[f64], other: &[f64]| {
        one.len() == other.len() && one.iter().zip(other).all(|(one, other)| nearly_equal(*one, *other))
    };
    let alike = same(&before.rpm, &now.rpm) && same(&before.throttle, &now.throttle);
    let rows = before.rows.iter().zip(&now.rows);
    alike.then(|| rows.map(|(before, now)| row_over(before, now, nothing)).collect())
}

/// The least and the most of a row, cells that pass nothing left out.
fn row_over(before: &[f64], now: &[f64], nothing: f64) -> (f64, f64) {
    let filled = before.iter().zip(now).filter(|(before, _)| **before > nothing + SAME);
    let over = filled.map(|(before, now)| (now - nothing) / (before - nothing));
    over.map(|over| (over, over))
        .reduce(|row, one| (row.0.min(one.0), row.1.max(one.1)))
        .unwrap_or((1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::{TrimSteps, fuel_over};
    use crate::notebook::{Injection, MapTable};

    fn injection() -> Injection {
        toml::from_str("fuel_map_unit = \"ms\"\ndead_time = \"0.9 ms\"")
            .unwrap_or_else(|error| panic!("{error}"))
    }

    fn map(rows: [[f64; 2]; 2]) -> MapTable {
        let rows = rows.map(|row| row.to_vec()).to_vec();
        MapTable {
            rpm: vec![9000.0, 10_000.0],
            throttle: vec![50.0, 100.0],
            rows,
            unit: "ms".into(),
            file: None,
        }
    }

    /// What a map on the bike has over the baseline's is read back from its cells, the dead time left out.
    #[test]
    fn a_trimmed_map_is_known_again_by_its_fuel() {
        let before = map([[1.9, 2.9], [2.9, 4.9]]);
        let over = fuel_over(&before, &map([[1.86, 2.82], [3.0, 5.1]]), &injection());
        let over = over.unwrap_or_default();
        assert!(
            over.len() == 2 && (over[0] - 0.96).abs() < 1e-9 && (over[1] - 1.05).abs() < 1e-9,
            "{over:?}"
        );
        assert_eq!(fuel_over(&before, &map([[1.9, 3.4], [2.9, 4.9]]), &injection()), None, "one by itself");
    }

    /// A row that stays says nothing of a throttle that gets more.
    #[test]
    fn a_throttle_has_the_rows_it_lies_between() {
        let before = map([[1.9, 2.9], [2.9, 4.9]]);
        let now = map([[1.9, 2.9], [3.0, 5.1]]);
        for (throttle, least, most) in
            [(1.0, 1.05, 1.05), (0.75, 1.0, 1.05), (0.5, 1.0, 1.0), (0.125, 1.0, 1.0)]
        {
            let over = super::over_at(&before, &now, &injection(), throttle).unwrap_or_default();
            assert!((over.0 - least).abs() < 1e-9 && (over.1 - most).abs() < 1e-9, "{throttle}: {over:?}");
        }
    }

    /// As the trim of the whole map: four percent at a time, counted from what is on the bike, and richer at once.
    #[test]
    fn cells_go_leaner_in_the_steps_of_the_trim() {
        let shares = toml::from_str(include_str!("../../../configs/shares.toml"));
        let steps = TrimSteps::of(&injection(), &shares.unwrap_or_else(|error| panic!("{error}")));
        assert!((steps.step() - 0.04).abs() < 1e-12);
        assert_eq!((steps.count(&[(0.85, 1.0)]), steps.count(&[(0.96, 1.0), (1.2, 1.0)])), (4, 1));
        for (number, expected) in [(1, 0.96), (2, 0.92), (3, 0.88), (4, 0.85)] {
            assert!((steps.after(number, 0.85, 1.0) - expected).abs() < 1e-12, "{number}");
        }
        assert!((steps.after(1, 1.2, 1.0) - 1.2).abs() < 1e-12);
        assert!((steps.most(1.1) - 1.18).abs() < 1e-12);
    }
}
