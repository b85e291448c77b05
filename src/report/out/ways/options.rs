//! How each option is typed that the floors below name.

use crate::notebook::guidance::CommandOption;

/// What an option says, as a field of a file.
pub(super) fn field(of: &CommandOption) -> String {
    option(of).replace("--", "")
}

/// An option with what it takes.
pub(super) fn option(option: &CommandOption) -> String {
    match option {
        CommandOption::At(None) => "--at".into(),
        CommandOption::At(Some(name)) => format!("--at {name}"),
        CommandOption::Cylinder(name) => format!("--cylinder {name}"),
        CommandOption::Cylinders(None) => "--cylinders".into(),
        CommandOption::Cylinders(Some(names)) => format!("--cylinders {names}"),
        CommandOption::Date => "--date".into(),
        CommandOption::DateLike => "--date 2026-05-16".into(),
        CommandOption::TimeLike => "--at 9:40".into(),
        CommandOption::Cause => "--cause".into(),
        CommandOption::Mended => "--fixed".into(),
        CommandOption::MendedLike => "--fixed \"new seal fitted\"".into(),
        CommandOption::CauseAndMended => "--cause \"…\" --fixed \"…\"".into(),
        CommandOption::RemoveCause => "--remove cause".into(),
        CommandOption::Air => "--temp … --baro … --humidity …".into(),
        CommandOption::Despite => "--despite \"…\"".into(),
        CommandOption::Sure => "--sure".into(),
        CommandOption::Setup => "--setup".into(),
        CommandOption::SetupNumber => "--setup NUMBER".into(),
        CommandOption::FirstSetup => "--setup 1".into(),
        CommandOption::Baseline => "--baseline NUMBER".into(),
        CommandOption::Lap(lap) => format!("--lap {lap}"),
        CommandOption::Note => "--note".into(),
        CommandOption::Theory => "--theory".into(),
        CommandOption::Place(place) => format!("--place \"{place}\""),
        CommandOption::Elevation => "--elevation".into(),
        CommandOption::Qnh => "--qnh".into(),
        CommandOption::SeaLevel => "--sea-level".into(),
        CommandOption::Mercury => "In mm of mercury it is written with its unit: --baro \"760 mmHg\".".into(),
        CommandOption::Fahrenheit => "--temp \"55 F\"".into(),
        CommandOption::Celsius => "--temp \"13 C\"".into(),
        CommandOption::OilRatio => "--oil-ratio".into(),
        CommandOption::Garage => "--garage DIR".into(),
        CommandOption::DiscardEdits => "--lose-edits".into(),
        CommandOption::Only => "--only".into(),
        CommandOption::Sign => "--sign".into(),
        CommandOption::WordsLike => "--words \"pinged hot\"".into(),
        CommandOption::New => "--new".into(),
        CommandOption::LeftOut => "--left-out".into(),
        CommandOption::Torque => "--torque".into(),
        CommandOption::TorqueLike => "--torque \"12 Nm\"".into(),
        CommandOption::Mark => "--mark".into(),
        CommandOption::MarkLike => "--mark \"white paint\"".into(),
        CommandOption::InsteadOf(part) => format!("--instead-of {part}"),
        CommandOption::Fitted => "--fitted".into(),
    }
}
