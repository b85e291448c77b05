//! What a bike wants in an air, whatever its cylinders.

use crate::advice::asking::{Answered, Question, Terms, Unanswered};
use crate::advice::conditions::kept::{Served, type_a_new_one};
use crate::advice::drawn::{JetOverAir, jet_over_air};
use crate::advice::slips::Slip;
use crate::notebook::{AirEntry, When};
use crate::quantity::Units;
use crate::report::history::questioned::still_asked;
use crate::report::page::sheet::Advice;
use crate::report::{Beside, OfCylinders, RejetAnswer, RejetReport, Trouble};
use crate::store::{Book, Garage};

use super::air::served;

/// The air that is asked about.
pub struct InAir<'a> {
    /// What was typed of it; none where nothing was.
    pub typed: Option<AirEntry>,
    /// Where it is; where the day is spent, where none is said.
    pub place: Option<&'a str>,
    /// Whether what is questioned of it was said to be right.
    pub is_right: &'a dyn Fn(&Slip) -> bool,
    /// Whether the jets over the air are wanted too: as many answers again as the drawing has points.
    pub drawn: bool,
}

/// What a bike wants.
pub struct Wants<'a> {
    /// What is asked before any size is said; then there is no answer.
    pub asked: Vec<&'a Slip>,
    /// The answer, or why there is none.
    pub advice: Option<Result<Advice<'a>, Trouble>>,
    /// The jets of each cylinder over the air; none where there is no answer, or no drawing is wanted.
    pub jets: Vec<(Option<String>, JetOverAir)>,
}

/// One cylinder's answer, with what is asked and what is said before it.
type Found<'q> = Result<(Answered<'q>, Vec<String>, Vec<Slip>), Trouble>;

/// Asks what a bike wants in an air, and gives it to whoever shows it.
pub fn rejet<T>(
    garage: &Garage,
    bike: &str,
    air: &InAir<'_>,
    (now, units): (When, Units),
    show: impl FnOnce(Wants<'_>) -> Result<T, Trouble>,
) -> Result<T, Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let names = book.combination(bike, None)?.fields.jetted();
    let served = served(&book, air.typed.clone(), air.place, now)?;
    let books: Vec<(Option<String>, Book<'_>)> = match names.as_slice() {
        [] => vec![(None, book.of_all())],
        names => names.iter().map(|(name, asked)| (Some(name.clone()), book.for_cylinder(asked))).collect(),
    };
    let mut questions = Vec::new();
    for (name, book) in &books {
        let question = Question::ask(book, bike, &Terms::default(), now);
        if let Err(Unanswered::Findings(findings)) = question {
            return Err(Trouble::findings(findings));
        }
        questions.push((name, question.map_err(Trouble::from)));
    }
    let found: Vec<(&Option<String>, Found<'_>)> = questions
        .iter()
        .map(|(name, question)| {
            let question = question.as_ref().map_err(Clone::clone);
            let found = question.and_then(|question| answered(question, (&served, air), (now, units)));
            (*name, found)
        })
        .collect();
    let mut slips: Vec<Slip> = Vec::new();
    for slip in found.iter().flat_map(|(_, found)| found.iter().flat_map(|(_, _, slips)| slips)) {
        if !slips.contains(slip) {
            slips.push(slip.clone());
        }
    }
    let mut asked = still_asked(&slips, false, None);
    asked.retain(|slip| !(air.is_right)(slip));
    if !asked.is_empty() {
        return show(Wants { asked, advice: None, jets: Vec::new() });
    }
    let (mut answers, mut jets) = (Vec::new(), Vec::new());
    for (name, found) in &found {
        if let Ok((found, _, _)) = found
            && air.drawn
        {
            jets.push(((*name).clone(), jet_over_air(found)?));
        }
        let found = found.as_ref().map(|(found, questioned, _)| (found, questioned.as_slice()));
        answers.push((name.as_deref(), report(found.map_err(Clone::clone), &served)));
    }
    show(Wants { asked, advice: Some(of_all(answers)), jets })
}

/// The answer for the air that serves; jets for an air that was typed wrongly are not to be fitted by anybody.
fn answered<'q>(
    question: &'q Question<'q>,
    (served, asked): (&Served, &InAir<'_>),
    now_and_units: (When, Units),
) -> Found<'q> {
    let Some(air) = &served.entry else { return Err(no_air(served)) };
    let place = served.origin.as_ref().map(|origin| origin.place.as_str()).or(asked.place);
    let slips = question.slips(air, place, now_and_units)?;
    let settings = question.settings(None)?;
    let found = question.answer(air, &settings, false)?;
    let (mut elsewhere, others) = found.said_and_asked(slips);
    elsewhere.retain(|slip| !(asked.is_right)(slip));
    let questioned = RejetReport::questioned(question, &elsewhere);
    Ok((found, questioned, others))
}

fn no_air(served: &Served) -> Trouble {
    match &served.refused {
        Some(refused) => Trouble::request(None, refused.words.clone(), type_a_new_one(refused)),
        None => Trouble::request(
            None,
            "No air is kept for today.",
            "Type the temperature, the pressure and the humidity.",
        ),
    }
}

/// What was found, with what stands before any size, as an answer.
pub fn report<'a>(
    found: Result<(&'a Answered<'a>, &'a [String]), Trouble>,
    served: &'a Served,
) -> Result<RejetAnswer<'a>, Trouble> {
    let (found, questioned) = found?;
    Ok(RejetAnswer::from(RejetReport::of(found, Beside::air(served, questioned))?))
}

/// One answer for the machine; none where one of its cylinders has none.
pub fn of_all<'a>(
    answers: Vec<(Option<&str>, Result<RejetAnswer<'a>, Trouble>)>,
) -> Result<Advice<'a>, Trouble> {
    let several = answers.len() > 1;
    let (mut each, mut wrong) = (Vec::new(), Vec::new());
    for (name, answer) in answers {
        let name = name.unwrap_or_default().to_owned();
        match answer {
            Ok(answer) => each.push((name, answer)),
            Err(trouble) => wrong.push((name, trouble)),
        }
    }
    let Some((name, first)) = wrong.first() else { return Ok(Advice(OfCylinders(each))) };
    let is_of_all = each.is_empty() && wrong.iter().all(|(_, other)| other.says_the_same(first));
    Err(if several && !is_of_all { first.clone().of_cylinder(name) } else { first.clone() })
}
