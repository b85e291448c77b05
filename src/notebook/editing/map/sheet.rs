//! What a map is written on: a file of its own, or arrays in the document.

/// The cells of a map as they are written, wherever that is. Columns and rows count from 0 without the axes.
pub(in crate::notebook) trait Sheet {
    /// Decimals of the finest cell.
    fn decimals(&self) -> usize;
    /// Writes one cell.
    fn put(&mut self, row: usize, column: usize, digits: &str);
    /// Puts an engine speed in before column `at`, with one cell for each row.
    fn insert_column(&mut self, at: usize, rpm: &str, cells: &[String]);
    /// Puts a throttle opening in before row `at`, with its cells.
    fn insert_row(&mut self, at: usize, throttle: &str, cells: &[String]);
}
