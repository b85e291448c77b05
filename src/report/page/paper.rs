//! An answer's parts for paper, where nobody types: without commands, and without what names them.

use super::shell::with_arrows;
use crate::report::out::frame::FramePart;

/// The parts without commands to be typed, the words that lead to one, and options in brackets.
pub(super) fn on_paper(parts: Vec<FramePart>) -> Vec<FramePart> {
    let mut kept: Vec<FramePart> = Vec::new();
    for part in parts {
        match part {
            FramePart::Command(_) => {
                if let Some(FramePart::Say(words) | FramePart::Know(words)) = kept.last_mut() {
                    *words = without_the_lead(words).to_owned();
                }
                kept.retain(|part| !matches!(part, FramePart::Say(words) | FramePart::Know(words) if words.is_empty()));
            }
            FramePart::Hands(words) => kept.push(FramePart::Hands(without_brackets(&words))),
            FramePart::Stop(words) => kept.push(FramePart::Stop(without_brackets(&words))),
            FramePart::Know(words) => kept.push(FramePart::Know(without_brackets(&words))),
            FramePart::Say(words) => kept.push(FramePart::Say(without_brackets(&words))),
            FramePart::Source(_) | FramePart::Gap => {}
            other => kept.push(other),
        }
    }
    kept
}

/// A text without its last sentence, where that leads to what follows: "No limit set: reed-2. Set one:".
fn without_the_lead(words: &str) -> &str {
    let words = words.trim_end();
    if !words.ends_with(':') {
        return words;
    }
    let ends = [". ", "? ", ") "].into_iter().filter_map(|end| words.rfind(end));
    ends.max().map_or("", |at| &words[..=at])
}

/// A text without what stands in brackets to be typed: "(--all lists them)", "(-v)", "(`reedbook job done` ticks)".
fn without_brackets(words: &str) -> String {
    let mut kept = String::new();
    let mut rest = words;
    while let Some((before, (inside, after))) =
        rest.split_once(" (").and_then(|(before, behind)| Some((before, behind.split_once(')')?)))
    {
        kept.push_str(before);
        if !["--", "-v", "`reedbook "].iter().any(|typed| inside.starts_with(typed)) {
            kept.push_str(&format!(" ({inside})"));
        }
        rest = after;
    }
    kept + rest
}

/// The boxes of jobs, each that a stop names with that in it.
pub(super) fn marked(jobs: Vec<FramePart>, stops: &[FramePart]) -> Vec<FramePart> {
    let one = |(done, line): (bool, String)| {
        // The job's number stands before it.
        let at = line.find(|c: char| !c.is_ascii_digit() && c != ' ').unwrap_or(0);
        let (number, what) = line.split_at(at);
        match spoken_against(what, stops).filter(|_| !done) {
            Some(against) => (done, format!("{number}{against}{what}")),
            None => (done, line),
        }
    };
    let boxes = jobs.into_iter().filter_map(|part| match part {
        FramePart::Boxes(jobs) => Some(FramePart::Boxes(jobs.into_iter().map(one).collect())),
        _ => None,
    });
    boxes.collect()
}

/// What stands in a job itself where a stop names it: a box is ticked before what stands under it is read.
pub(super) fn spoken_against(job: &str, stops: &[FramePart]) -> Option<&'static str> {
    let job = with_arrows(job);
    let names = |words: &str| {
        let words = with_arrows(words);
        let ends = |at: usize| !words.get(at..).is_some_and(|rest| rest.starts_with(char::is_alphanumeric));
        words.match_indices(&job).any(|(at, _)| ends(at + job.len()))
    };
    let stop = stops.iter().find_map(|part| match part {
        FramePart::Stop(words) if names(words) => Some(words),
        _ => None,
    })?;
    Some(if stop.starts_with("Rejet first") {
        "!! rejet first: "
    } else {
        "!! not before the box below is read: "
    })
}

#[cfg(test)]
mod tests {
    use super::{on_paper, spoken_against};
    use crate::report::out::frame::FramePart;

    #[test]
    fn a_job_that_a_stop_names_says_so_itself() {
        let stops = [
            FramePart::Know("main 178 -> 176".to_owned()),
            FramePart::Stop("Rejet first: main 178 -> 170, 4 sizes leaner.".to_owned()),
            FramePart::Stop("base gasket 0.50 mm -> 0.40 mm: tighter.".to_owned()),
        ];
        assert_eq!(spoken_against("main 178 → 170", &stops), Some("!! rejet first: "));
        assert!(spoken_against("base gasket 0.50 mm → 0.40 mm", &stops).is_some());
        for other in ["main 178 → 17", "main 178 → 176", "pilot 50 → 45"] {
            assert_eq!(spoken_against(other, &stops), None, "{other}");
        }
    }

    #[test]
    fn what_is_typed_does_not_stand_on_paper_and_what_is_told_does() {
        let say = |words: &str| FramePart::Say(words.to_owned());
        let typed = || FramePart::Command("reedbook part edit reed-2 change_after=…".to_owned());
        let parts = vec![
            say("No limit set: reed-2. Set one:"),
            typed(),
            say("? cap is a piston: does it fit basalt? (2 more may be) If so:"),
            typed(),
            say("Write it down:"),
            typed(),
            say("8 more parts (two of them new) have 4 h or more left (--all lists them)."),
            FramePart::Know("To do:".to_owned()),
        ];
        let kept = [
            say("No limit set: reed-2."),
            say("? cap is a piston: does it fit basalt? (2 more may be)"),
            say("8 more parts (two of them new) have 4 h or more left."),
            FramePart::Know("To do:".to_owned()),
        ];
        assert_eq!(on_paper(parts), kept);
    }
}
