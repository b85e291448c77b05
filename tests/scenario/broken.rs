//! Where a line broke in something that belongs together: a number and its unit, a date and its time, a verdict, a name, a command.

use std::collections::BTreeSet;

/// Units as they are printed behind a number.
const UNITS: &str = "% C F K hPa kPa bar inHg mm cm m ft in cc ml l g kg h min s ms kW hp mm2 mm2/deg rpm deg degrees turns grooves kg/m3 m/s days years";

/// What is said in two words or three.
const SAID: &str = "slightly lean,slightly rich,full throttle,half throttle,full right,1/2 right,1/2 rich,full lean,full slightly \
                    lean,density altitude,air screw,small end bearing,big end bearing,timed run,quarter throttle,eighth throttle";

/// Options whose value is a name.
const NAMING: [&str; 3] = ["--place", "-p", "--session"];

/// Names of more than one word that a command line says.
pub(crate) fn names(arguments: &[String]) -> Vec<String> {
    let after = arguments.windows(2).filter(|pair| NAMING.contains(&pair[0].as_str()));
    after.map(|pair| pair[1].clone()).filter(|name| name.contains(' ') && name.len() < 24).collect()
}

/// Each place of a text where a line broke so.
pub(crate) fn found(text: &str, names: &BTreeSet<String>, width: usize) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let mut broken: Vec<String> = lines
        .windows(2)
        .filter(|pair| is_wrapped(pair[0], pair[1], width) && is_broken(pair[0], pair[1], names))
        .map(|pair| format!("{} / {}", pair[0], pair[1].trim_start()))
        .collect();
    let quoted = lines.iter().filter(|line| has_a_broken_command(line));
    broken.extend(quoted.map(|line| (*line).to_owned()));
    broken
}

/// Whether the next line goes on with this one: words that had no room on it. A line of figures alone is an axis.
fn is_wrapped(line: &str, next: &str, width: usize) -> bool {
    let first: usize = next.split_whitespace().take(2).map(|word| word.chars().count() + 1).sum();
    line.chars().any(char::is_alphabetic) && line.chars().count() + first > width
}

fn is_broken(line: &str, next: &str, names: &BTreeSet<String>) -> bool {
    let (Some(last), Some(first)) = (line.split_whitespace().next_back(), next.split_whitespace().next())
    else {
        return false;
    };
    let bare = first.trim_end_matches([',', '.', ';', ':', ')', '?']);
    // "temp=13 C" as "13 C"; "15.51 to 1" is one ratio.
    let figure = last.rsplit('=').next().unwrap_or(last);
    let of_ratio = line.trim_end().ends_with(" to")
        && bare == "1"
        && line
            .split_whitespace()
            .rev()
            .nth(1)
            .is_some_and(|word| word.contains('.') && word.parse::<f64>().is_ok())
        || bare == "to"
            && next
                .split_whitespace()
                .nth(1)
                .is_some_and(|word| word.starts_with('1') && word.trim_end_matches([',', '.', ')']) == "1");
    let is_number = figure
        .trim_start_matches(['(', '"', '+', '-', '<', '>', '±'])
        .bytes()
        .next()
        .is_some_and(|b| b.is_ascii_digit())
        && figure.bytes().last().is_some_and(|b| b.is_ascii_digit());
    let of_unit = is_number && UNITS.split(' ').any(|unit| unit == bare);
    let of_date = is_date(last) && is_time(bare);
    let said = SAID.split(',').map(str::trim).map(str::to_owned).chain(names.iter().cloned());
    of_unit || of_date || of_ratio || said.into_iter().any(|said| is_split(&said, line, next))
}

fn is_date(word: &str) -> bool {
    let word = word.trim_start_matches('(');
    word.len() == 10 && word.split('-').map(str::len).eq([4, 2, 2])
}

fn is_time(word: &str) -> bool {
    word.split(':').map(str::len).eq([2, 2]) && word.bytes().all(|b| b == b':' || b.is_ascii_digit())
}

/// Whether a text ends one line and goes on in the next.
fn is_split(said: &str, line: &str, next: &str) -> bool {
    let (line, next) = (line.trim_end(), next.trim_start());
    said.match_indices(' ').any(|(at, _)| {
        let (before, after) = (&said[..at], &said[at + 1..]);
        let ends =
            line.strip_suffix(before).is_some_and(|rest| rest.is_empty() || rest.ends_with([' ', '(', '"']));
        let goes_on = next.strip_prefix(after);
        ends && goes_on.is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphanumeric()))
    })
}

/// Whether a command's quotes are not both on this line, or a command to be typed stands in a sentence.
fn has_a_broken_command(line: &str) -> bool {
    if line.contains(": reedbook ") && !line.starts_with("Usage: ") {
        return true;
    }
    let Some((_, after)) = line.rsplit_once("`reedbook ") else { return false };
    !after.contains('`') || after.trim_end().trim_end_matches('.').ends_with('`') && !is_pointer(after)
}

/// A command that says where to read more.
fn is_pointer(command: &str) -> bool {
    command.starts_with("guide") || command.contains("--help`")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_torn_apart_is_seen() {
        let names: BTreeSet<String> = ["High Corrie".to_owned()].into();
        for torn in [
            "the air is 89.2\n  % of it",
            "it was 24\n  C, and dry",
            "the air (temp=13\n  C; humidity",
            "the ratio is 15.51 to\n  1 there",
            "it is a small\n  end bearing",
            "the run of 2026-05-17\n  09:00 was",
            "it was slightly\n  lean there",
            "in High\n  Corrie, heat 1",
            "say `reedbook part show\n  reed-1` now",
            "Undo: `reedbook rollback moth 40`.",
            "Undo: reedbook rollback moth 40",
        ] {
            assert!(!found(torn, &names, torn.lines().map(str::len).max().unwrap_or(0)).is_empty(), "{torn}");
        }
        for whole in [
            "rpm 3,000\n 18.0",
            "  -20  -10  0\n degrees after top",
            "in setup 24\nCicada has more",
            "High\n  Moor",
            "More: `reedbook guide lean`.",
            "it is slightly lean\nthere",
            "  reedbook rollback moth 40",
        ] {
            assert!(found(whole, &names, 12).is_empty(), "{whole}");
        }
    }
}
