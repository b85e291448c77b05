//! One short file a command: its arguments, whose doc comments are its help, and a run that reads, calls and shows.

mod air;
mod ask;
mod bike;
mod build;
mod change;
mod compute;
mod demo;
mod desk;
mod engine;
mod garage;
mod handover;
mod helping;
mod job;
mod options;
mod outing;
mod part;
mod program;
mod proven;
mod rejet;
mod rollback;
mod serve;
mod share;
mod sheet;

use std::cell::{Cell, RefCell};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand, ValueEnum};

use crate::commands::desk::Desk;
use crate::machine::{self, Moment};
use crate::quantity;
use crate::report::{Screen, Trouble, Wanted};
use crate::store::{has_recorded, say_when_stuck};

/// A notebook for two-stroke race bikes: what was on it, and what the air wants
#[derive(Debug, Parser)]
#[command(name = "reedbook", version, infer_subcommands = true)]
#[command(after_help = "A setup is its number, `now`, `latest` or `proven`. Start with the demo.")]
pub struct Arguments {
    /// The garage's folder; otherwise the one above the current folder that holds garage.toml
    #[arg(long, global = true, value_name = "DIR")]
    garage: Option<PathBuf>,
    /// One JSON document on standard output; errors as JSON on standard error
    #[arg(long, global = true)]
    json: bool,
    /// Units of computed values; otherwise the garage's
    #[arg(long, global = true, value_name = "UNITS")]
    units: Option<Units>,
    /// All that is known, and the cautions in full
    #[arg(long, short, global = true)]
    verbose: bool,
    /// Bold and colour: at a terminal, always, or never
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto", hide_default_value = true)]
    color: Color,
    /// No pager for long answers
    #[arg(long, global = true)]
    no_pager: bool,
    #[command(subcommand)]
    command: Option<Command>,
}

/// Where bold and colour are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Color {
    #[value(help = "At a terminal that has it, unless NO_COLOR is set")]
    Auto,
    /// Everywhere
    Always,
    /// Nowhere
    Never,
}

impl Color {
    fn chosen(self) -> Option<bool> {
        match self {
            Self::Auto => None,
            Self::Always => Some(true),
            Self::Never => Some(false),
        }
    }
}

/// Units of computed values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Units {
    /// Millimetres, degrees Celsius, hectopascals, metres
    Metric,
    /// Inches, degrees Fahrenheit, inches of mercury, feet
    Imperial,
}

impl From<Units> for quantity::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metric,
            Units::Imperial => Self::Imperial,
        }
    }
}

#[derive(Debug, Subcommand)]
enum Command {
    Now(ask::now::Now),
    Garage(garage::GarageCommand),
    Bike(bike::BikeCommand),
    Engine(engine::EngineCommand),
    Change(change::Change),
    Outing(outing::OutingCommand),
    Job(job::JobCommand),
    History(ask::history::History),
    Show(ask::show::Show),
    Compare(ask::compare::Compare),
    Proven(proven::Proven),
    Rollback(rollback::Rollback),
    Air(air::AirCommand),
    Rejet(rejet::Rejet),
    Cautions(program::cautions::Cautions),
    Serve(serve::Serve),
    Sheet(sheet::SheetCommand),
    Guide(program::guide::Guide),
    Find(ask::find::Find),
    Package(compute::package::PackageCommand),
    Ports(compute::ports::PortsCommand),
    Head(compute::head::HeadCommand),
    Ignition(compute::ignition::Ignition),
    Map(compute::map::MapCommand),
    Pipe(compute::pipe::PipeCommand),
    Intake(compute::intake::Intake),
    Fuel(compute::fuel::Fuel),
    Build(build::BuildCommand),
    Fit(compute::fit::FitCommand),
    Part(part::PartCommand),
    Share(share::Share),
    Handover(handover::HandoverCommand),
    Demo(demo::Demo),
    Completions(program::completions::Completions),
    Manual(program::manual::Manual),
}

/// Runs what the command line says. Exit code 0: done; 1: something is wrong with the data or the request; 2: wrong usage.
pub fn run_from_arguments() -> ExitCode {
    let arguments = match helping::parse::<Arguments>() {
        Ok(arguments) => arguments,
        Err(trouble) => {
            let json = machine::arguments().any(|word| word == "--json");
            Screen::new(Wanted { json, ..Wanted::default() }).complain(&trouble);
            return ExitCode::from(2);
        }
    };
    let screen = Screen::new(Wanted {
        json: arguments.json,
        verbose: arguments.verbose,
        colour: arguments.color.chosen(),
        units: arguments.units.map(Into::into),
        unpaged: arguments.no_pager,
    });
    say_when_stuck(move |error| {
        screen.complain(&after_recording(error.into()));
        machine::end(1)
    });
    match run(arguments, screen) {
        Ok(code) => code,
        Err(trouble) => {
            // What is so already is an answer, and no error.
            if let Some(nothing) = trouble.nothing_to_do()
                && screen.answer(&nothing, || nothing.text(&screen)).is_ok()
            {
                return ExitCode::SUCCESS;
            }
            screen.complain(&after_recording(trouble));
            ExitCode::from(1)
        }
    }
}

/// What went wrong once what was asked for is recorded must not sound as if it were not.
fn after_recording(trouble: Trouble) -> Trouble {
    if has_recorded() { trouble.after_recording() } else { trouble }
}

fn run(arguments: Arguments, screen: Screen) -> Result<ExitCode, Trouble> {
    let desk = Desk {
        screen: Cell::new(screen),
        moment: Moment::of_the_machine()?,
        garage: arguments.garage,
        lens: RefCell::default(),
    };
    let Some(command) = arguments.command else {
        return without_a_command(&desk);
    };
    match command {
        Command::Now(command) => command.run(&desk)?,
        Command::Garage(command) => return command.run(&desk),
        Command::Bike(command) => command.run(&desk)?,
        Command::Engine(command) => command.run(&desk)?,
        Command::Change(command) => command.run(&desk)?,
        Command::Outing(command) => command.run(&desk)?,
        Command::Job(command) => command.run(&desk)?,
        Command::History(command) => command.run(&desk)?,
        Command::Show(command) => command.run(&desk)?,
        Command::Compare(command) => command.run(&desk)?,
        Command::Proven(command) => command.run(&desk)?,
        Command::Rollback(command) => command.run(&desk)?,
        Command::Air(command) => command.run(&desk)?,
        Command::Rejet(command) => command.run(&desk)?,
        Command::Serve(command) => command.run(&desk)?,
        Command::Sheet(command) => command.run(&desk)?,
        Command::Cautions(command) => command.run(&desk)?,
        Command::Guide(command) => command.run(&desk)?,
        Command::Find(command) => command.run(&desk)?,
        Command::Package(command) => command.run(&desk)?,
        Command::Ports(command) => command.run(&desk)?,
        Command::Head(command) => command.run(&desk)?,
        Command::Ignition(command) => command.run(&desk)?,
        Command::Map(command) => command.run(&desk)?,
        Command::Pipe(command) => command.run(&desk)?,
        Command::Intake(command) => command.run(&desk)?,
        Command::Fuel(command) => command.run(&desk)?,
        Command::Build(command) => command.run(&desk)?,
        Command::Fit(command) => command.run(&desk)?,
        Command::Part(command) => command.run(&desk)?,
        Command::Handover(command) => command.run(&desk)?,
        Command::Share(command) => return command.run(&desk),
        Command::Demo(command) => command.run(&desk, run_line)?,
        Command::Completions(command) => command.run(&desk, Arguments::command())?,
        Command::Manual(command) => command.run(&desk, Arguments::command())?,
    }
    Ok(ExitCode::SUCCESS)
}

/// Runs a line of the demo's tour.
fn run_line(words: &[&str], screen: Screen) -> Result<(), Trouble> {
    let arguments = Arguments::try_parse_from(words).map_err(|error| {
        Trouble::request(None, format!("The tour stumbled: {error}"), "Report this line.")
    })?;
    run(arguments, screen).map(|_| ())
}

/// Without a command: the bikes of the garage here as they stand, or what can be asked.
fn without_a_command(desk: &Desk) -> Result<ExitCode, Trouble> {
    if desk.garage_if_any()?.is_some() {
        ask::now::Now::default().run(desk)?;
        return Ok(ExitCode::SUCCESS);
    }
    desk.screen().say(&helping::in_short(Arguments::command()))?;
    Ok(ExitCode::from(2))
}
