//! Whether a part may go into an engine: what is known not to fit, or not to be usable, is refused with a way out.

use crate::advice::parts::{Fits, Fitting, as_written};
use crate::commands::desk::Desk;
use crate::notebook::fields::names::visible;
use crate::notebook::{Condition, OF_PART, Part, at_cylinder};
use crate::quantity::trimmed;
use crate::report::Trouble;
use crate::store::{BikeJobs, Book, Garage};

/// Refuses a part that is known not to fit an engine, unless it is said that it does, and one that is not to be used again.
pub(super) fn refuse_misfit(
    (desk, garage): (&Desk, &Garage),
    (name, part): (&str, &Part),
    (engine, cylinder): (&str, Option<&str>),
    sure: bool,
) -> Result<(), Trouble> {
    let until = as_written(desk.moment.now);
    if let Condition::Unusable(words) = part.condition_at(until) {
        let words = words.map(|words| format!(": \"{}\"", visible(&words))).unwrap_or_default();
        return Err(Trouble::request(
            Some("part"),
            format!("{name} was put away as not usable{words}."),
            format!(
                "If it was rebuilt: `reedbook part renew {name}`. If it can be used as it is: \
                 `reedbook part inspect {name} --usable`."
            ),
        ));
    }
    // A note that only sounds like it is asked before it runs again.
    if let (Condition::Asked(words), false) = (part.condition_at(until), sure) {
        return Err(Trouble::request(
            Some("part"),
            format!("By its note (\"{}\") {name} may be no spare any more.", visible(&words)),
            format!(
                "Look at it, then `reedbook part inspect {name} --usable` or --unusable. If it goes in all the same: --sure."
            ),
        ));
    }
    let bore_m = crate::advice::parts::nominal_bore_m(garage, engine, cylinder)?;
    let mm = |metres: f64| format!("{} mm", trimmed(metres * 1e3, 2));
    let message = match Fitting::of(part, until).fits(engine, bore_m) {
        Fits::Yes | Fits::NotKnown => return Ok(()),
        Fits::Others => {
            format!("{name} says that it fits {}, and not {engine}.", visible(&part.fits.join(", ")))
        }
        Fits::OtherBore(own, engines) => {
            let place = at_cylinder(engine, cylinder);
            format!("{name} is made for a bore of {}, and that of {place} is {}.", mm(own), mm(engines))
        }
    };
    if sure {
        return Ok(());
    }
    let mend = match &part.for_bore {
        Some(_) => format!("`reedbook part edit {name} for_bore=\"…\"` fixes its bore"),
        None => format!("`reedbook part edit {name} --fits {engine}` says so for good"),
    };
    Err(Trouble::request(
        Some("engine"),
        message,
        format!("Look at the part again. If it does fit, say --sure; {mend}."),
    ))
}

/// What the hands have still to do of a part, with the number of its job: written down is not done.
pub(super) fn still_to_do(garage: &Garage, part: &str) -> Result<Vec<String>, Trouble> {
    let all = Book::open(garage)?.open_jobs()?;
    let of_part = all.iter().flat_map(BikeJobs::open).filter(|job| job.item.key() == (OF_PART, Some(part)));
    let words = of_part.map(|job| {
        let (number, bike, what) = (job.number, visible(&job.bike), visible(&job.item.what));
        format!("Still to be done at {bike}: {what}. When it is: `reedbook job done {number}`")
    });
    Ok(words.collect())
}
