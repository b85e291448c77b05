//! An answer's parts for paper, where nobody types: without commands, and without what names them.

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

#[cfg(test)]
mod tests {
    use super::on_paper;
    use crate::report::out::frame::FramePart;

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
