//! The options that words for the user name, each by what it says.

/// An option of the command that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CommandOption {
    /// At which cylinder: of this name, or at all.
    At(Option<String>),
    /// The cylinder that is asked for.
    Cylinder(String),
    /// The cylinders of a bike: these, or at all.
    Cylinders(Option<String>),
    /// The day.
    Date,
    /// The day, as an example.
    DateLike,
    /// The time of the day, as an example.
    TimeLike,
    /// What made it lean.
    Cause,
    /// What was done about it.
    Mended,
    /// What was done about it, as an example.
    MendedLike,
    /// Both, in words of the user's own.
    CauseAndMended,
    /// Takes the cause out again.
    RemoveCause,
    /// The air, reading by reading.
    Air,
    /// Why it is done all the same.
    Despite,
    /// That it is meant.
    Sure,
    /// The setup.
    Setup,
    /// The setup, by its number.
    SetupNumber,
    /// The first setup.
    FirstSetup,
    /// The setup that was right.
    Baseline,
    /// A lap as it is to be typed.
    Lap(String),
    /// Words about it.
    Note,
    /// Without the record.
    Theory,
    /// The place.
    Place(String),
    /// The height of the track.
    Elevation,
    /// The pressure by a sea-level setting.
    Qnh,
    /// The pressure at sea level.
    SeaLevel,
    /// The pressure in mm of mercury.
    Mercury,
    /// The temperature, as an example, in Fahrenheit.
    Fahrenheit,
    /// The temperature, as an example, in Celsius.
    Celsius,
    /// The ratio of petrol to oil.
    OilRatio,
    /// The folder of the garage.
    Garage,
    /// That edits on disk may be lost.
    DiscardEdits,
    /// The sections that are taken in.
    Only,
    /// That it is signed.
    Sign,
    /// Words to look for, as an example.
    WordsLike,
    /// That it is made.
    New,
    /// That a step does not apply.
    LeftOut,
    /// The torque.
    Torque,
    /// The torque, as an example.
    TorqueLike,
    /// The mark.
    Mark,
    /// The mark, as an example.
    MarkLike,
    /// The part that comes out.
    InsteadOf(String),
    /// That the part from then is in.
    Fitted,
}
