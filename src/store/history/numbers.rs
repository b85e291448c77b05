//! `bikes/<bike>/numbers`: the append-only list of setup numbers. A number is given once and never moves, whatever plain
//! git does to the history.

use std::collections::{HashMap, HashSet};

/// The numbers of one bike's setups.
#[derive(Debug, Clone, Default)]
pub struct Numbers {
    by_id: HashMap<String, u32>,
    highest: u32,
    /// Numbers that another setup took as well, with its id: their lines stay until somebody takes them out.
    doubled: Vec<(u32, String)>,
    /// The number that a setup had before it gave way to one that was shared already, by its id.
    was: HashMap<String, u32>,
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
            numbers.was.extend(before(line).map(|was| (id.to_owned(), was)));
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

    /// A number of these, taken once, that is not its setup's any more in a later list.
    pub(in crate::store) fn moved_in(&self, later: &Self) -> Option<u32> {
        let kept = |number: u32, id: &str| {
            later.of(id) == Some(number) || later.others_of(number).any(|other| other == id)
        };
        let settled = |number: u32| self.others_of(number).next().is_none();
        let mut numbers: Vec<(u32, &str)> =
            self.by_id.iter().map(|(id, number)| (*number, id.as_str())).collect();
        numbers.sort_unstable();
        numbers
            .into_iter()
            .find(|(number, id)| settled(*number) && !kept(*number, id))
            .map(|(number, _)| number)
    }

    /// The number of a setup, if it has one.
    pub fn of(&self, id: &str) -> Option<u32> {
        self.by_id.get(id).copied()
    }

    /// The number that a setup had before it was shared, where it is another one now.
    pub fn was(&self, id: &str) -> Option<u32> {
        self.was.get(id).copied()
    }

    /// The setups whose number gave way between an earlier list and this one, by the numbers that they have now.
    pub(in crate::store) fn gave_way_since(&self, before: &Self) -> Vec<Renumbered> {
        let new = self.was.iter().filter(|(id, was)| before.was(id) != Some(**was));
        let mut gave_way: Vec<Renumbered> = new
            .filter_map(|(id, was)| Some(Renumbered { id: id.clone(), was: *was, now: self.of(id)? }))
            .collect();
        gave_way.sort_by_key(|one| one.now);
        gave_way
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

    /// The setup with the highest number.
    pub fn newest(&self) -> Option<&str> {
        self.by_id.iter().find(|(_, number)| **number == self.highest).map(|(id, _)| id.as_str())
    }

    /// How many setups have a number.
    pub fn count(&self) -> usize {
        self.by_id.len()
    }

    /// The file's text, in the order of the numbers; those that were taken twice stand below as long as they are not settled.
    pub fn text(&self) -> String {
        let mut lines: Vec<_> = self.by_id.iter().map(|(id, number)| (*number, id)).collect();
        lines.sort_unstable();
        let was = |id: &String| self.was(id).map(|was| format!(" was {was}")).unwrap_or_default();
        let own = lines.iter().map(|(number, id)| format!("{number} {id}{}\n", was(id)));
        own.chain(self.doubled.iter().map(|(number, id)| format!("{number} {id}\n"))).collect()
    }
}

/// A setup whose number gave way to one that was shared already.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renumbered {
    /// Its identity.
    pub id: String,
    /// The number that it had.
    pub was: u32,
    /// The number that it has now.
    pub now: u32,
}

/// The lists of two sides as one: what was shared stands as it is; of ours, a number that is taken there gives way to the next
/// free one, on a line that says so.
pub(in crate::store) fn merged(base: &str, ours: &str, theirs: &str) -> (String, Vec<Renumbered>) {
    let (mut text, mut gave_way) = settled_in(base, ours, theirs);
    let theirs = &text.clone();
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    let mut ids: HashSet<String> = theirs.lines().filter_map(claim).map(|(_, id)| id.to_owned()).collect();
    let mut taken: HashSet<u32> = theirs.lines().filter_map(claim).map(|(number, _)| number).collect();
    let all = theirs.lines().chain(ours.lines()).filter_map(claim);
    let mut highest = all.map(|(number, _)| number).filter(|number| *number <= HIGHEST).max().unwrap_or(0);
    for line in ours.lines() {
        let Some((number, id)) = claim(line) else { continue };
        // A line that was shared once and is not there any more was settled by somebody, where two had taken its number; else it was lost.
        let settled = || {
            let known = || base.lines().filter_map(claim).filter(|(known, _)| *known == number);
            known().any(|(_, of)| of == id) && (theirs.is_empty() || known().any(|(_, of)| of != id))
        };
        if !ids.insert(id.to_owned()) || settled() {
            continue;
        }
        if taken.insert(number) {
            text += &format!("{}\n", line.trim_end());
            continue;
        }
        highest += 1;
        taken.insert(highest);
        text += &format!("{highest} {id} was {number}\n");
        gave_way.push(Renumbered { id: id.to_owned(), was: number, now: highest });
    }
    (text, gave_way)
}

/// A shared list in which no number is taken twice: where somebody settled that here, as here; else the first keeps the number, and the others
/// give way.
fn settled_in(base: &str, ours: &str, theirs: &str) -> (String, Vec<Renumbered>) {
    let claims = |text: &str| {
        text.lines().filter_map(claim).map(|(number, id)| (number, id.to_owned())).collect::<Vec<_>>()
    };
    let (known, own, there) = (claims(base), claims(ours), claims(theirs));
    let is_doubled = |number: u32| there.iter().filter(|(other, _)| *other == number).count() > 1;
    if !there.iter().any(|(number, _)| is_doubled(*number)) {
        return (theirs.to_owned(), Vec::new());
    }
    let holds_here = |number: u32| {
        let mut holds = own.iter().filter(|(other, _)| *other == number);
        // Where two have it here as well, nothing is settled.
        holds.next().filter(|_| holds.next().is_none()).map(|(_, id)| id.clone())
    };
    let mut highest = own
        .iter()
        .chain(&there)
        .map(|(number, _)| *number)
        .filter(|number| *number <= HIGHEST)
        .max()
        .unwrap_or(0);
    let mut kept: HashSet<u32> = HashSet::new();
    let (mut text, mut gave_way) = (String::new(), Vec::new());
    for line in theirs.lines() {
        let doubled = claim(line).filter(|(number, _)| is_doubled(*number));
        let Some((number, id)) = doubled else {
            text += &format!("{line}\n");
            continue;
        };
        let holder = holds_here(number).filter(|holder| there.contains(&(number, holder.clone())));
        let keeps = holder.as_ref().map_or(!kept.contains(&number), |holder| holder == id);
        if keeps && kept.insert(number) {
            text += &format!("{line}\n");
        } else if own.iter().any(|(of, other)| other == id && *of != number) {
            // It has its number here.
        } else if holder.is_some() && known.contains(&(number, id.to_owned())) {
            // Its line was taken out here.
        } else if there.iter().any(|(of, other)| other == id && *of != number) {
            // It has another one there as well.
        } else {
            highest += 1;
            text += &format!("{highest} {id} was {number}\n");
            gave_way.push(Renumbered { id: id.to_owned(), was: number, now: highest });
        }
    }
    (text, gave_way)
}

/// A list that was shared, without what two had taken and somebody settled since; and the numbers of it that were lost since.
pub(in crate::store) fn lost(shared: &str, now: &str) -> (String, Vec<u32>) {
    let is_there = |claimed| now.lines().any(|line| claim(line) == claimed);
    let gone = shared.lines().filter(|line| claim(line).is_some_and(|claimed| !is_there(Some(claimed))));
    let is_doubled = |line: &&str| {
        let number = claim(line).map(|(number, _)| number);
        shared.lines().filter_map(claim).filter(|(other, _)| Some(*other) == number).count() > 1
    };
    let (settled, lost): (Vec<&str>, Vec<&str>) = gone.partition(is_doubled);
    let kept =
        shared.lines().filter(|line| !settled.contains(line)).map(|line| format!("{line}\n")).collect();
    // One that has another number now was given it on purpose.
    let has_one = |id: &str| now.lines().filter_map(claim).any(|(_, of)| of == id);
    let lost = lost.into_iter().filter_map(claim).filter(|(_, id)| !has_one(id)).map(|(number, _)| number);
    (kept, lost.collect())
}

/// Whether a list on disk has lost numbers that were recorded: it is only their beginning, or one stands in it no more that nobody else
/// has. Where two had taken a number and the line of one was taken out from among the others, or given another number, it was settled.
pub(in crate::store) fn has_lost(recorded: &str, on_disk: &str) -> bool {
    let claims = |text: &str| {
        text.lines().filter_map(claim).map(|(number, id)| (number, id.to_owned())).collect::<Vec<_>>()
    };
    let (was, is) = (claims(recorded), claims(on_disk));
    let is_gone = |one: &&(u32, String)| !is.contains(one);
    let is_settled = |(number, id): &(u32, String)| {
        is.iter().any(|(_, of)| of == id)
            || was.iter().any(|(known, of)| known == number && of != id && is.contains(&(*known, of.clone())))
    };
    let mut gone = was.iter().filter(is_gone).peekable();
    let is_beginning = recorded.starts_with(on_disk);
    gone.peek().is_some() && (is_beginning || gone.any(|one| !is_settled(one)))
}

/// A recorded list with what a list on disk that lost some of it has besides, as far as its lines are whole.
pub(in crate::store) fn brought_back(recorded: &str, on_disk: &str) -> String {
    let mut text = recorded.to_owned();
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    let known: HashSet<&str> = recorded.lines().filter_map(claim).map(|(_, id)| id).collect();
    let whole = on_disk.split_inclusive('\n').filter(|line| line.ends_with('\n'));
    let is_new = |line: &&str| claim(line).is_some_and(|(_, id)| !known.contains(id));
    text.extend(whole.filter(is_new));
    text
}

/// Whether the number of a setup in a list is another one's there too, or leaves numbers out before it: it was given by another list.
pub(in crate::store) fn is_out_of_order(list: &str, id: &str) -> bool {
    let claims = || list.lines().filter_map(claim).filter(|(number, _)| *number <= HIGHEST);
    let Some((own, _)) = claims().find(|(_, of)| *of == id) else { return false };
    let mut others = claims().filter(|(_, of)| *of != id).map(|(number, _)| number).peekable();
    let is_first = others.peek().is_none();
    let highest = claims().filter(|(_, of)| *of != id).map(|(number, _)| number).max().unwrap_or(0);
    others.any(|number| number == own) || (!is_first && own > highest + 1)
}

/// The first line of a list that is no number of a setup, with what stands there: nobody reads it.
pub fn odd_line(list: &str) -> Option<(usize, &str)> {
    let odd = |line: &&str| !line.trim().is_empty() && claim(line).is_none();
    list.lines().enumerate().find(|(_, line)| odd(line)).map(|(at, line)| (at + 1, line))
}

/// The number that stands behind "was" on a line.
fn before(line: &str) -> Option<u32> {
    let mut words = line.split_whitespace().skip(2);
    (words.next() == Some("was")).then(|| words.next()?.parse().ok()).flatten()
}

/// A line's number and id.
fn claim(line: &str) -> Option<(u32, &str)> {
    let mut words = line.split_whitespace();
    Some((words.next()?.parse().ok()?, words.next()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_shared_stands_and_the_rest_gives_way_on_a_line_that_says_so() {
        let (text, gave_way) = merged("1 a\n", "1 a\n2 b\n3 c\n", "1 a\n2 x\n");
        assert_eq!(text, "1 a\n2 x\n4 b was 2\n3 c\n");
        assert_eq!(gave_way, [Renumbered { id: "b".into(), was: 2, now: 4 }]);
        let numbers = Numbers::read(&[&text]);
        assert_eq!((numbers.of("b"), numbers.was("b"), numbers.of("x")), (Some(4), Some(2), Some(2)));
        assert_eq!(numbers.doubled().count(), 0);
        assert_eq!(
            numbers.text(),
            "1 a\n2 x\n3 c\n4 b was 2\n",
            "the line still says so when it is written again"
        );
    }

    #[test]
    fn a_number_that_was_shared_and_lost_comes_back_and_one_that_was_settled_does_not() {
        assert_eq!(lost("1 a\n2 b\n", "1 a\n"), ("1 a\n2 b\n".to_owned(), vec![2]));
        assert_eq!(lost("1 a\n2 b\n2 c\n", "1 a\n2 b\n"), ("1 a\n2 b\n".to_owned(), Vec::new()));
        assert_eq!(lost("1 a\n2 b\n", "1 a\n3 b was 2\n").1, Vec::<u32>::new());
        assert_eq!(merged("1 a\n2 b\n", "1 a\n2 b\n", "1 a\n3 x\n").0, "1 a\n3 x\n2 b\n");
        assert_eq!(merged("1 a\n", "1 a\n", "").0, "", "a bike that the others took out has no numbers");
    }

    #[test]
    fn a_list_that_ends_before_what_was_recorded_lost_numbers_and_one_that_was_settled_did_not() {
        let recorded = "1 a\n2 b\n2 c\n";
        for cut in ["", "1 a\n", "1 a\n2 b\n", "1 a\n2 b\n2", "2 b\n2 c\n", "1 x\n2 b\n2 c\n"] {
            assert!(has_lost(recorded, cut), "{cut:?}");
        }
        for whole in
            [recorded, "1 a\n2 b\n2 c", "1 a\n2 c\n", "1 a\n2 b\n3 c was 2\n", "1 a\n2 b\n2 c\n3 d\n"]
        {
            assert!(!has_lost(recorded, whole), "{whole:?}");
        }
        assert_eq!(brought_back(recorded, "1 a\n3 d\n4"), "1 a\n2 b\n2 c\n3 d\n");
    }

    #[test]
    fn a_number_that_another_has_or_that_leaves_some_out_was_given_elsewhere() {
        assert!(is_out_of_order("1 a\n2 x\n2 b\n", "b") && is_out_of_order("1 a\n3 b\n", "b"));
        assert!(!is_out_of_order("1 a\n2 b\n", "b") && !is_out_of_order("1 b\n", "b"));
        assert!(!is_out_of_order("4 b\n", "b") && !is_out_of_order("1 a\n", "b"));
    }

    #[test]
    fn what_was_settled_here_stays_so_and_what_nobody_settled_is_settled_by_the_first_line() {
        let doubled = "1 a\n2 b\n2 c\n";
        assert_eq!(merged(doubled, "1 a\n2 c\n3 b was 2\n", doubled).0, "1 a\n2 c\n3 b was 2\n");
        assert_eq!(
            merged(doubled, "1 a\n2 b\n3 c was 2\n", "1 a\n2 b\n2 c\n3 d\n").0,
            "1 a\n2 b\n3 d\n4 c was 3\n"
        );
        assert_eq!(merged(doubled, "1 a\n2 c\n", doubled).0, "1 a\n2 c\n");
        let (text, gave_way) = merged("", doubled, doubled);
        assert_eq!(text, "1 a\n2 b\n3 c was 2\n");
        assert_eq!(gave_way, [Renumbered { id: "c".into(), was: 2, now: 3 }]);
    }

    #[test]
    fn a_line_that_was_settled_elsewhere_does_not_come_back() {
        assert_eq!(merged("1 a\n2 b\n2 c\n", "1 a\n2 b\n2 c\n", "1 a\n2 b\n").0, "1 a\n2 b\n");
    }
}
