//! A setup that was put together of two sides' changes: nobody knows how it runs before it ran.

use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::store::{Book, SetupRecord, StoreError};

/// What is said of a setup that was put together and never ran.
const NEVER_RAN: &str = "combined of two sides' changes and never ran";

/// Whether a sentence says that of a setup.
pub fn is_never_run(sentence: &str) -> bool {
    sentence.contains(NEVER_RAN)
}

/// What there is to say of a setup that was put together of two sides' and never ran: nobody knows how it does.
pub fn combined_never_run(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<Guidance>, StoreError> {
    let (runs, setups) = (book.outings(&setup.bike)?, book.setups(&setup.bike)?);
    let ran = |setup: &SetupRecord| runs.iter().any(|run| run.setup == Some(setup.number));
    // What was changed on one since has not run either.
    let mut of_two = setup;
    while !ran(of_two) && !of_two.combined {
        let from = setups.iter().find(|one| Some(&one.id) == of_two.made_from.as_ref());
        let Some(from) = from.filter(|from| from.number < of_two.number) else { return Ok(None) };
        of_two = from;
    }
    if ran(of_two) || (of_two.number != setup.number && ran_under_another(book, setup, &ran)?) {
        return Ok(None);
    }
    let made_on = if of_two.number == setup.number {
        format!("Setup {} is", setup.number)
    } else {
        format!("Setup {} is made on setup {}, which is", setup.number, of_two.number)
    };
    let mut said = Guidance::from(format!(
        "{made_on} {NEVER_RAN}: start rich, and read plug and piston before full throttle."
    ));
    let mut before = runs.iter().filter(|run| run.outing.setup.as_ref() == Some(&setup.id));
    if let Some(run) = before.next_back() {
        said = said
            + format!(
                " The run of {} that names it was on what it was before git put it onto others' changes: nothing is learned from it, and it proves nothing. Where you know a setup that was like it: ",
                run.outing.date.short()
            )
            + Command::MendOuting(setup.bike.clone(), run.id.clone(), OutingChange::Setup)
            + ".";
    }
    Ok(Some(said))
}

/// Whether what a setup has ran under another number: what was put back is recorded anew.
fn ran_under_another(
    book: &Book<'_>,
    setup: &SetupRecord,
    ran: &dyn Fn(&SetupRecord) -> bool,
) -> Result<bool, StoreError> {
    let own = book.combination(&setup.bike, Some(setup))?.fields;
    for other in book.setups(&setup.bike)?.iter().rev().filter(|other| ran(other)) {
        if book.combination(&setup.bike, Some(other))?.fields.same_as(&own) {
            return Ok(true);
        }
    }
    Ok(false)
}
