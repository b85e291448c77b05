//! The commands that words for the user name, each by what it does.

/// A command of this program. What is named is shown as it was made visible; where it is not named, the report says what
/// stands in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// Makes a garage.
    MakeGarage,
    /// Looks the whole garage over.
    CheckGarage,
    /// Makes a bike; named or not.
    MakeBike(Option<String>),
    /// Shows the bikes.
    ListBikes,
    /// Brings a bike that was taken out back; named or not.
    BringBikeBack(Option<String>),
    /// Makes an engine, by a name.
    MakeEngine,
    /// Makes another engine.
    MakeAnotherEngine,
    /// Shows the engines.
    ListEngines,
    /// Changes a setup.
    Change,
    /// Changes the setup of a bike.
    ChangeBike(String),
    /// Records what stands in the files of a bike, with its reason; named or not.
    RecordSetup(Option<String>),
    /// Says which engine is in a bike.
    SayEngine(String),
    /// Puts one engine into a bike.
    PutIn {
        /// The bike.
        bike: String,
        /// The engine.
        engine: String,
    },
    /// Puts an engine into a bike with a main jet.
    PutInWithMain {
        /// The bike.
        bike: String,
        /// The engine.
        engine: String,
        /// The jet.
        main: String,
    },
    /// Writes what was measured in a build into the setup.
    TakeOverReadings {
        /// The bike.
        bike: String,
        /// Fields and readings.
        readings: Vec<(String, String)>,
        /// The day of the build.
        day: String,
    },
    /// Records what was on a bike as it ran.
    RecordAsItRan {
        /// The bike.
        bike: String,
        /// Fields and what they were.
        fields: Vec<(String, String)>,
        /// Whether the record may speak against it: then it is said with it that it ran so.
        despite: bool,
    },
    /// Changes the main jet of a bike.
    ChangeMain(String),
    /// Puts the newest setup of a bike back, whatever stands in its files.
    PutNewestBack(String),
    /// Shows the setups; of a bike or not.
    History(Option<String>),
    /// Shows a setup.
    ShowSetup {
        /// The bike.
        bike: String,
        /// The number of the setup.
        number: u32,
    },
    /// Marks a setup of a bike as proven.
    MarkProven(String),
    /// Takes such a mark back.
    WithdrawMark(String),
    /// Shows what is to be done.
    Jobs,
    /// Says that a job is done.
    JobDone,
    /// Keeps a new reading of the air.
    KeepAir {
        /// Whether the place of the day is known.
        is_placed: bool,
    },
    /// Keeps an air of a place.
    KeepAirThere,
    /// Turns an advance in degrees into travel, or back.
    IgnitionByTravel,
    /// Reads a fuel map from a file and records it.
    LoadFuelMap,
    /// Logs outings of a bike.
    AddOuting(String),
    /// Logs an outing with a verdict and its place.
    LogRun(String),
    /// Shows the outings of a bike, or of all.
    ListOutings(Option<String>),
    /// Lists the outings of a bike with all that is known of them, ids too.
    ListOutingsInFull(String),
    /// Shows an outing.
    ShowOuting,
    /// Takes outings of a file into another garage.
    ImportElsewhere,
    /// Mends an outing: its bike, its identity or what stands for it, and what is mended.
    MendOuting(String, String, OutingChange),
    /// Mends an outing that is named by its bike and its identity in one.
    MendRun(String, OutingChange),
    /// Takes an outing out.
    RemoveOuting {
        /// The bike.
        bike: String,
        /// The identity of the outing.
        id: String,
    },
    /// What is done with parts.
    Parts,
    /// Takes a part in, by its name and its kind.
    MakePart,
    /// Takes another part in.
    MakeAnotherPart,
    /// Shows the parts; those in an engine, or all.
    ListParts(Option<String>),
    /// Shows a part.
    ShowPart(String),
    /// Says that a part was put into an engine.
    FitPart(String),
    /// Takes a part out of one engine and puts it into another.
    MovePart {
        /// The part.
        part: String,
        /// The engine that it goes into.
        engine: String,
        /// The cylinder, where there are several.
        at: Option<String>,
    },
    /// Takes a part out; named or not.
    RemovePart(Option<String>),
    /// Says that a part was made new.
    RenewPart(String),
    /// Mends what is written down of a part, as an example.
    MendPart(String),
    /// What is done with builds.
    Builds,
    /// Begins a build of an engine.
    BeginBuild(String),
    /// Begins a build of an engine, of a scope that is said.
    BeginBuildOfScope(String),
    /// Says that a step of a build is done.
    TickStep(String),
    /// Shows the steps of a build.
    ListSteps(String),
    /// Shows what is written down of a build.
    ShowBuild(String),
    /// Shows the builds of an engine.
    ListBuilds(String),
    /// Writes down a reading of a build.
    MeasureBuild {
        /// The engine.
        engine: String,
        /// The cylinder, where there are several.
        cylinder: Option<String>,
    },
    /// Brings and sends.
    Share,
    /// Shares through a folder.
    ShareWith,
    /// Shares through a folder, and makes the repository there.
    ShareWithNew,
    /// Shows what was here before others' was brought, and what brings it back.
    ShareBefore,
    /// Ends a merge of git that is half done, or builds git's index anew.
    MendGarage,
    /// Puts a document back as it was recorded last while it could be read.
    MendFile(String),
    /// Shares with a side that was rewritten.
    ShareRewritten,
    /// Keeps a side of a file, for a reason.
    ShareKeepWhy(&'static str, String),
}

/// What is mended of an outing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutingChange {
    /// As it stands on disk.
    AsItStands,
    /// Whatever it lacks.
    Anything,
    /// The setup it ran.
    Setup,
    /// The setup it ran: the newest.
    NewestSetup,
    /// The setup it ran, by its number.
    SetupOf(u32),
    /// How long it ran.
    Hours,
    /// Its air.
    Air,
    /// Its place and its air.
    PlaceAndAir,
    /// The pressure of its air.
    Pressure,
    /// What made it lean, and what was done about it.
    CauseAndMend,
    /// That it was not the engine.
    NotTheEngine,
    /// The day it was.
    Date,
    /// Its verdict at full throttle, as an example.
    Right,
}

/// A command of git.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GitCommand {
    /// Lets this user open a folder of another.
    Trust(String),
    /// Ends a merge, or another operation of that name, that is half done.
    Abort(&'static str),
    /// Goes back to the branch before, or to a branch.
    Switch(Option<String>),
    /// Makes a repository.
    Init,
    /// Names all that is damaged.
    LookThrough,
    /// Says what is under way.
    Status,
    /// Says who writes.
    UserName,
    /// Shows what was recorded, as text.
    Show,
    /// Brings a file back as it was recorded, even where git was told to remove it.
    BringBack(String),
    /// Puts git's index of a file back to what was recorded.
    ResetIndex(String),
    /// Takes up a file.
    Add(String),
    /// Records a file.
    Commit(String),
    /// Has all files on disk.
    WholeCheckout,
    /// Brings the beginning of a history.
    BringTheRest,
    /// Brings what a clone left out.
    BringWhatWasLeftOut,
    /// Makes git's index plain.
    PlainIndex,
    /// Says which key signs.
    SigningKey,
    /// Says that an ssh key signs.
    SignBySsh,
    /// Shows who signed.
    ShowSignatures,
    /// Takes the mark of a program from a file.
    NoProgram,
    /// Brings a branch back, by its name and its newest commit.
    BringBranchBack(String, String),
}
