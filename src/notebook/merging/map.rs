//! A map that two sides changed, brought together cell by cell.

use crate::notebook::maps::table::MapTable;
use crate::quantity::nearly_equal;

/// Both sides' cells; none where a side moved a breakpoint, or both set one cell to different values.
pub fn merge_maps(base: &MapTable, ours: &MapTable, theirs: &MapTable) -> Option<MapTable> {
    let same_grid = |one: &MapTable| {
        let zeroed = |map: &MapTable| {
            let rows = map.rows.iter().map(|row| vec![0.0; row.len()]).collect();
            MapTable { rows, ..map.clone() }
        };
        zeroed(one).same_as(&zeroed(base))
    };
    if !same_grid(ours) || !same_grid(theirs) {
        return None;
    }
    let mut merged = theirs.clone();
    for (at, row) in merged.rows.iter_mut().enumerate() {
        for (column, cell) in row.iter_mut().enumerate() {
            let of = |map: &MapTable| map.rows.get(at).and_then(|row| row.get(column)).copied();
            let (was, own) = (of(base)?, of(ours)?);
            if nearly_equal(own, was) || nearly_equal(own, *cell) {
                continue;
            }
            if !nearly_equal(*cell, was) {
                return None;
            }
            *cell = own;
        }
    }
    Some(merged)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(cells: [f64; 3]) -> MapTable {
        MapTable {
            rpm: vec![1000.0, 2000.0, 3000.0],
            throttle: Vec::new(),
            rows: vec![cells.to_vec()],
            unit: "deg".into(),
            file: None,
        }
    }

    #[test]
    fn cells_of_both_sides_stand_and_one_cell_of_both_is_none() {
        let base = map([10.0, 20.0, 30.0]);
        let merged = merge_maps(&base, &map([11.0, 20.0, 30.0]), &map([10.0, 20.0, 28.0]));
        assert!(merged.is_some_and(|merged| merged.same_as(&map([11.0, 20.0, 28.0]))));
        assert!(merge_maps(&base, &map([11.0, 20.0, 30.0]), &map([12.0, 20.0, 30.0])).is_none());
        let mut moved = map([10.0, 20.0, 30.0]);
        moved.rpm[1] = 2500.0;
        assert!(merge_maps(&base, &moved, &map([10.0, 20.0, 28.0])).is_none());
    }
}
