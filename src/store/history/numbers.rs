//! `bikes/<bike>/numbers`: the append-only list of setup numbers. A number is given once and never moves, whatever plain
//! git does to the history.

use std::collections::{HashMap, HashSet};

/// The numbers of one bike's setups.
#[derive(Debug, Clone, Default)]
pub struct Numbers {
    by_id: HashMap<String, u32>,
    highest: u32,
}

/// A number above this is a slip of the pen in the file, and not believed.
const HIGHEST: u32 = 1_000_000;

impl Numbers {
    /// Reads the file as it is on disk and as it was recorded; a line is `number id`. Where one number was taken twice the
    /// first line keeps it, and the other setup is given a new one.
    pub fn read(texts: &[&str]) -> Self {
        let mut numbers = Self::default();
        let mut taken = HashSet::new();
        for line in texts.iter().flat_map(|text| text.lines()) {
            let mut words = line.split_whitespace();
            let (Some(number), Some(id)) = (words.next().and_then(|n| n.parse::<u32>().ok()), words.next())
            else {
                continue;
            };
            if number == 0 || number > HIGHEST || numbers.by_id.contains_key(id) || !taken.insert(number) {
                continue;
            }
            numbers.by_id.insert(id.to_owned(), number);
            numbers.highest = numbers.highest.max(number);
        }
        numbers
    }

    /// The number of a setup, if it has one.
    pub fn of(&self, id: &str) -> Option<u32> {
        self.by_id.get(id).copied()
    }

    /// Gives the next number to a setup that has none.
    pub fn give(&mut self, id: &str) -> u32 {
        if let Some(number) = self.of(id) {
            return number;
        }
        self.highest += 1;
        self.by_id.insert(id.to_owned(), self.highest);
        self.highest
    }

    /// How many setups have a number.
    pub fn count(&self) -> usize {
        self.by_id.len()
    }

    /// The file's text, in the order of the numbers.
    pub fn text(&self) -> String {
        let mut lines: Vec<_> = self.by_id.iter().map(|(id, number)| (*number, id)).collect();
        lines.sort_unstable();
        lines.iter().map(|(number, id)| format!("{number} {id}\n")).collect()
    }
}
