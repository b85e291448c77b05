//! A lap that nobody ran there.

use super::slip::{Questioned, Slip, apart};
use crate::advice::runs::{lap_seconds, lap_time};
use crate::notebook::OutingKind;
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::store::OutingRecord;

/// How many laps of the place are looked at, the nearest in time, and how few are too few.
const AROUND: usize = 12;
const TOO_FEW: usize = 3;
/// A lap is questioned below this share of the best of them, and beyond so many times the slowest (common practice, no source): nobody
/// finds a tenth in a day, and rain costs a third.
const AS_QUICK: f64 = 0.9;
const AS_SLOW: f64 = 2.0;
/// The same at a place without a lap, beside those of all places: tracks differ by so much, and not by a comma in the wrong place
/// (common practice, no source).
const AS_QUICK_ANYWHERE: f64 = 0.3;
const AS_SLOW_ANYWHERE: f64 = 5.0;

/// The same where the bike has one or two laps there, which say little (common practice, no source).
const AS_QUICK_AS_FEW: f64 = 0.6;
const AS_SLOW_AS_FEW: f64 = 2.0;

/// What was meant by seconds without a colon that read as minutes and seconds: "120.1" for 1:20.1.
fn without_its_colon(text: &str) -> Option<(f64, String)> {
    let word = text.split_whitespace().next()?;
    let (whole, decimals) = word.split_once('.').unwrap_or((word, ""));
    let is_number = whole.len() == 3 && format!("{whole}{decimals}").bytes().all(|b| b.is_ascii_digit());
    let (minutes, seconds) = whole.split_at_checked(1).filter(|_| is_number)?;
    let meant = format!("{minutes}:{seconds}{}", word.strip_prefix(whole)?);
    Some((lap_seconds(&meant)?, meant))
}

/// The question about a lap, beside those of the same bike at the place.
pub(super) fn lap<'o>(record: &OutingRecord, others: &'o [OutingRecord]) -> Option<Slip> {
    let outing = &record.outing;
    let (text, place) = (outing.lap.as_deref()?, outing.place.as_deref()?);
    let seconds = lap_seconds(text).filter(|_| outing.kind != OutingKind::Dyno)?;
    let is_there =
        |other: &&OutingRecord| other.outing.place.as_deref().is_some_and(|known| same_name(known, place));
    let own = || others.iter().filter(|other| other.bike == record.bike);
    let timed = |other: &'o OutingRecord| {
        let lap = other.outing.lap.as_deref()?;
        Some((apart(record, other), lap_seconds(lap)?, lap))
    };
    let mut around: Vec<(i64, f64, &str)> = own().filter(is_there).filter_map(timed).collect();
    let ((as_quick, as_slow), there) = if around.is_empty() {
        around = own().filter_map(timed).collect();
        ((AS_QUICK_ANYWHERE, AS_SLOW_ANYWHERE), "anywhere")
    } else {
        let few = around.len() < TOO_FEW;
        (if few { (AS_QUICK_AS_FEW, AS_SLOW_AS_FEW) } else { (AS_QUICK, AS_SLOW) }, "there")
    };
    let has_enough = there == "there" || around.len() >= TOO_FEW;
    around.sort_by_key(|(apart, _, _)| *apart);
    around.truncate(AROUND);
    let quickest = around.iter().min_by(|one, other| one.1.total_cmp(&other.1))?;
    let slowest = around.iter().max_by(|one, other| one.1.total_cmp(&other.1))?;
    // As it stands it is far slower than any, and with its colon as quick as they are.
    let meant = without_its_colon(text).filter(|(meant, _)| {
        let is_one_of_them = *meant >= as_quick * quickest.1 && *meant <= slowest.1 / AS_QUICK;
        there == "there" && is_one_of_them && seconds > slowest.1 / AS_QUICK
    });
    if let Some((_, meant)) = meant {
        return Some(Slip {
            what: Questioned::Lap,
            field: "lap".into(),
            question: format!(
                "A lap of {} is {}: is it {meant}?",
                visible(text),
                lap_time(text).unwrap_or_else(|| visible(text))
            ),
            instead: format!("Then write {meant}.").into(),
        });
    }
    let far = match seconds {
        _ if !has_enough => return None,
        quick if quick < as_quick * quickest.1 => format!("the best {there} was {}", visible(quickest.2)),
        slow if slow > as_slow * slowest.1 => format!("the slowest {there} was {}", visible(slowest.2)),
        _ => return None,
    };
    Some(Slip {
        what: Questioned::Lap,
        field: "lap".into(),
        question: format!("A lap of {}, where {far}: is it a typing mistake?", visible(text)),
        instead: "A lap is written like 1:09.4.".into(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::Outing;
    use std::path::PathBuf;

    fn ran(lap: &str, place: &str) -> OutingRecord {
        OutingRecord {
            bike: "moth".to_owned(),
            id: String::new(),
            file: PathBuf::new(),
            outing: Outing { lap: Some(lap.to_owned()), place: Some(place.to_owned()), ..Outing::default() },
            setup: None,
            cylinders: Vec::new(),
        }
    }

    #[test]
    fn a_lap_that_nobody_ran_there_is_asked() {
        let there: Vec<OutingRecord> =
            ["1:09.4", "1:10.2", "1:31 wet"].map(|lap| ran(lap, "Teal Pass")).to_vec();
        let asked = |text: &str, place: &str| lap(&ran(text, place), &there).map(|slip| slip.question);
        assert_eq!(
            asked("0:29", "teal pass").as_deref(),
            Some("A lap of 0:29, where the best there was 1:09.4: is it a typing mistake?")
        );
        assert!(
            asked("3:10.0", "Teal Pass")
                .is_some_and(|words| words.contains("the slowest there was 1:31 wet"))
        );
        assert_eq!(asked("1:03.0", "Teal Pass"), None);
        assert!(asked("1:02.0", "Teal Pass").is_some(), "a tenth quicker than ever");
        assert_eq!(asked("1:55", "Teal Pass"), None);
        assert_eq!(asked("0:29", "Fennmoor"), None, "nothing is known of another place");
        assert!(lap(&ran("0:29", "Teal Pass"), &there[..2]).is_some(), "not half of the only two");
        assert_eq!(lap(&ran("0:55", "Teal Pass"), &there[..2]), None, "two laps say little");
        assert_eq!(
            lap(&ran("110.1", "Teal Pass"), &there[..1]).map(|slip| slip.question).as_deref(),
            Some("A lap of 110.1 is 1:50.1: is it 1:10.1?")
        );
        assert_eq!(lap(&ran("69.9", "Teal Pass"), &there), None, "seconds are a lap too");
        assert_eq!(
            asked("10.92", "Skarne Pass").as_deref(),
            Some("A lap of 10.92, where the best anywhere was 1:09.4: is it a typing mistake?")
        );
        assert_eq!(asked("0:42", "Skarne Pass"), None, "a short track");
    }
}
