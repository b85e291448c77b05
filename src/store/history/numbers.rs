//! `bikes/<bike>/numbers`: the append-only list of setup numbers. A number is given once and never moves, whatever plain
//! git does to the history.

use std::collections::HashMap;

/// The numbers of one bike's setups.
#[derive(Debug, Clone, Default)]
pub struct Numbers {
    by_id: HashMap<String, u32>,
    highest: u32,
    /// Numbers that another setup took as well, with its id: their lines stay until somebody takes them out.
    doubled: Vec<(u32, String)>,
}

/// A number above this is a slip of the pen in the file, and not believed.
const HIGHEST: u32 = 1_000_000;

impl Numbers {
    /// Reads the file as it was recorded and as it is on disk; a line is `number id`. Where one number was taken twice the
    /// first line keeps it, and the other setup is given a new one; the newest of the texts says where that is not settled.
    pub fn read(texts: &[&str]) -> Self {
        let mut numbers = Self::default();
        let mut taken = HashMap::new();
        for line in texts.iter().flat_map(|text| text.lines()) {
            let Some((number, id)) = claim(line) else { continue };
            if number == 0
                || number > HIGHEST
                || numbers.by_id.contains_key(id)
                || taken.contains_key(&number)
            {
                continue;
            }
            taken.insert(number, id);
            numbers.by_id.insert(id.to_owned(), number);
            numbers.highest = numbers.highest.max(number);
        }
        for (number, id) in texts.last().into_iter().flat_map(|text| text.lines()).filter_map(claim) {
            let doubled = (number, id.to_owned());
            if taken.get(&number).is_some_and(|owner| *owner != id) && !numbers.doubled.contains(&doubled) {
                numbers.doubled.push(doubled);
            }
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

    /// The setups that took a number besides the one that has it.
    pub fn others_of(&self, number: u32) -> impl Iterator<Item = &str> {
        self.doubled.iter().filter(move |(doubled, _)| *doubled == number).map(|(_, id)| id.as_str())
    }

    /// The numbers that were taken twice, by their order in the file.
    pub fn doubled(&self) -> impl Iterator<Item = u32> {
        self.doubled.iter().map(|(number, _)| *number)
    }

    /// How many setups have a number.
    pub fn count(&self) -> usize {
        self.by_id.len()
    }

    /// The file's text, in the order of the numbers; those that were taken twice stand below as long as they are not settled.
    pub fn text(&self) -> String {
        let mut lines: Vec<_> = self.by_id.iter().map(|(id, number)| (*number, id)).collect();
        lines.sort_unstable();
        lines.extend(self.doubled.iter().map(|(number, id)| (*number, id)));
        lines.iter().map(|(number, id)| format!("{number} {id}\n")).collect()
    }
}

/// A line's number and id.
fn claim(line: &str) -> Option<(u32, &str)> {
    let mut words = line.split_whitespace();
    Some((words.next()?.parse().ok()?, words.next()?))
}
