//! Symmetric matrices of the size of a record: the factor of Cholesky, and solving with it.

/// A square matrix, row by row.
#[derive(Debug, Clone)]
pub(in crate::advice::learning) struct Square {
    size: usize,
    entries: Vec<f64>,
}

impl Square {
    /// From a rule for each entry.
    pub(in crate::advice::learning) fn of(size: usize, entry: impl Fn(usize, usize) -> f64) -> Self {
        let entries = (0..size * size).map(|place| entry(place / size, place % size)).collect();
        Self { size, entries }
    }

    /// From a rule for each entry that is the same for row and column as for column and row.
    pub(in crate::advice::learning) fn symmetric(size: usize, entry: impl Fn(usize, usize) -> f64) -> Self {
        let mut square = Self { size, entries: vec![0.0; size * size] };
        for row in 0..size {
            for column in 0..=row {
                let value = entry(row, column);
                square.entries[row * size + column] = value;
                square.entries[column * size + row] = value;
            }
        }
        square
    }

    pub(in crate::advice::learning) fn size(&self) -> usize {
        self.size
    }

    #[inline]
    pub(in crate::advice::learning) fn row(&self, row: usize) -> &[f64] {
        &self.entries[row * self.size..(row + 1) * self.size]
    }

    #[inline]
    pub(in crate::advice::learning) fn at(&self, row: usize, column: usize) -> f64 {
        self.entries[row * self.size + column]
    }

    /// Adds `by` times the outer product of a vector with itself.
    pub(in crate::advice::learning) fn add_outer(&mut self, by: f64, vector: &[f64]) {
        for (row, a) in self.entries.chunks_exact_mut(self.size).zip(vector) {
            let scaled = by * a;
            for (entry, b) in row.iter_mut().zip(vector) {
                *entry += scaled * b;
            }
        }
    }

    /// The lower triangle L with L Lt = the matrix; none unless it is positive definite.
    pub(in crate::advice::learning) fn cholesky(&self) -> Option<Lower> {
        let mut lower = Self::of(self.size, |_, _| 0.0);
        for row in 0..self.size {
            for column in 0..=row {
                let left =
                    self.at(row, column) - dot(&lower.row(row)[..column], &lower.row(column)[..column]);
                let entry = if row != column {
                    left / lower.at(column, column)
                } else if left > 1e-14 && left.is_finite() {
                    left.sqrt()
                } else {
                    return None;
                };
                lower.entries[row * self.size + column] = entry;
            }
        }
        Some(Lower(lower))
    }
}

/// A lower triangle.
#[derive(Debug, Clone)]
pub(in crate::advice::learning) struct Lower(Square);

impl Lower {
    /// Solves L x = `right`.
    pub(in crate::advice::learning) fn forward(&self, right: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(right.len());
        for (row, value) in right.iter().enumerate() {
            let left = value - dot(&self.0.row(row)[..row], &solved);
            solved.push(left / self.0.at(row, row));
        }
        solved
    }

    /// Solves L Lt x = `right`.
    pub(in crate::advice::learning) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut solved = self.forward(right);
        for row in (0..solved.len()).rev() {
            let mut left = solved[row];
            for (below, known) in solved.iter().enumerate().skip(row + 1) {
                left -= self.0.at(below, row) * known;
            }
            solved[row] = left / self.0.at(row, row);
        }
        solved
    }

    /// ln of the product of the diagonal.
    pub(in crate::advice::learning) fn ln_diagonal(&self) -> f64 {
        (0..self.0.size()).map(|row| self.0.at(row, row).ln()).sum()
    }
}

#[inline]
pub(in crate::advice::learning) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_solved_solves() {
        let matrix = Square::of(4, |row, column| {
            let apart = f64::from(u32::try_from(row.abs_diff(column)).unwrap_or_default());
            (-0.3 * apart).exp() + if row == column { 0.5 } else { 0.0 }
        });
        let right = [1.0, -2.0, 0.5, 3.0];
        let solved = matrix.cholesky().expect("positive definite").solve(&right);
        for (row, expected) in right.iter().enumerate() {
            assert!((dot(matrix.row(row), &solved) - expected).abs() < 1e-12);
        }
        assert!(Square::of(2, |_, _| 1.0).cholesky().is_none());
    }

    #[test]
    fn the_diagonal_is_that_of_the_determinant() {
        let matrix = Square::of(2, |row, column| if row == column { 2.0 } else { 1.0 });
        let ln = matrix.cholesky().expect("positive definite").ln_diagonal();
        assert!((2.0 * ln - 3.0_f64.ln()).abs() < 1e-12);
    }
}
