//! Matrices of five by five: the factor of Cholesky, solving and inverting with it.

use super::verdicts::PARAMETERS;

pub(super) type Vector = [f64; PARAMETERS];
pub(super) type Matrix = [[f64; PARAMETERS]; PARAMETERS];

pub(super) fn identity() -> Matrix {
    diagonal(&[1.0; PARAMETERS])
}

pub(super) fn diagonal(values: &Vector) -> Matrix {
    let mut matrix = [[0.0; PARAMETERS]; PARAMETERS];
    for (index, value) in values.iter().enumerate() {
        matrix[index][index] = *value;
    }
    matrix
}

/// The lower triangle L with L Lt = `matrix`; none unless the matrix is positive definite.
pub(super) fn cholesky(matrix: &Matrix) -> Option<Matrix> {
    let mut lower = [[0.0; PARAMETERS]; PARAMETERS];
    for row in 0..PARAMETERS {
        for column in 0..=row {
            let done: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let left = matrix[row][column] - done;
            if row == column {
                if !(left > 1e-14 && left.is_finite()) {
                    return None;
                }
                lower[row][row] = left.sqrt();
            } else {
                lower[row][column] = left / lower[column][column];
            }
        }
    }
    Some(lower)
}

/// Solves L Lt x = `right`.
pub(super) fn solve(lower: &Matrix, right: &Vector) -> Vector {
    let mut x = *right;
    for row in 0..PARAMETERS {
        let done: f64 = (0..row).map(|k| lower[row][k] * x[k]).sum();
        x[row] = (x[row] - done) / lower[row][row];
    }
    for row in (0..PARAMETERS).rev() {
        let done: f64 = (row + 1..PARAMETERS).map(|k| lower[k][row] * x[k]).sum();
        x[row] = (x[row] - done) / lower[row][row];
    }
    x
}

/// The inverse of L Lt.
pub(super) fn inverse(lower: &Matrix) -> Matrix {
    // Symmetric, so rows may stand for columns.
    identity().map(|unit| solve(lower, &unit))
}

pub(super) fn product(lower: &Matrix, x: &Vector) -> Vector {
    lower.map(|row| dot(&row, x))
}

pub(super) fn scaled(matrix: &Matrix, by: f64) -> Matrix {
    matrix.map(|row| row.map(|entry| by * entry))
}

/// `matrix` times its own transpose.
pub(super) fn times_own_transpose(matrix: &Matrix) -> Matrix {
    matrix.map(|row| matrix.map(|other| dot(&row, &other)))
}

pub(super) fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factor_gives_the_matrix_and_the_inverse_undoes_it() {
        let lower: Matrix = std::array::from_fn(|row| {
            std::array::from_fn(|column| match column.cmp(&row) {
                std::cmp::Ordering::Less => 0.3 - 0.17 * f64::from(u8::try_from(row + 2 * column).unwrap()),
                std::cmp::Ordering::Equal => 1.0 + 0.2 * f64::from(u8::try_from(row).unwrap()),
                std::cmp::Ordering::Greater => 0.0,
            })
        });
        let matrix = times_own_transpose(&lower);
        let found = cholesky(&matrix).unwrap();
        let undone = inverse(&found).map(|row| product(&matrix, &row));
        for row in 0..PARAMETERS {
            for column in 0..PARAMETERS {
                assert!((found[row][column] - lower[row][column]).abs() < 1e-12);
                assert!((undone[row][column] - identity()[row][column]).abs() < 1e-10);
            }
        }
        assert_eq!(cholesky(&diagonal(&[1.0, 1.0, -1.0, 1.0, 1.0])), None);
        assert_eq!(cholesky(&diagonal(&[1.0, f64::NAN, 1.0, 1.0, 1.0])), None);
    }
}
