//! Which of several cylinders a command is about; without a name it answers for each of them.

use clap::Args;

use crate::commands::desk::{Desk, Lens};
use crate::notebook::fields::cylinder::{MOST, wrong_name};
use crate::notebook::fields::names::visible;
use crate::notebook::{Combination, FieldSet};
use crate::quantity::Quantity;
use crate::report::{AtCylinder, Figure, Trouble};
use crate::store::{Book, Garage};

/// One of several cylinders.
#[derive(Debug, Clone, Default, Args)]
pub(in crate::commands) struct CylinderOption {
    /// Only this one of several cylinders
    #[arg(long, value_name = "NAME")]
    cylinder: Option<String>,
}

/// What a command answers: one answer, or one for each of several cylinders that differ, by name.
pub(in crate::commands) enum Answers<T> {
    /// One.
    One(T),
    /// One for each.
    Each(Vec<(String, T)>),
}

impl CylinderOption {
    /// The name that was asked for.
    pub(in crate::commands) fn name(&self) -> Option<&str> {
        self.cylinder.as_deref()
    }

    /// Refuses a name that none of the cylinders has.
    pub(in crate::commands) fn require_one_of(&self, names: &[String]) -> Result<(), Trouble> {
        let Some(wanted) = self.name().filter(|wanted| !names.iter().any(|name| name == wanted)) else {
            return Ok(());
        };
        let help = match names {
            [] => "Its engine has one cylinder: leave --cylinder out.".to_owned(),
            names => format!("The cylinders are {}.", names.join(", ")),
        };
        let message = format!("There is no cylinder \"{}\".", visible(wanted));
        Err(Trouble::request(Some("cylinder"), message, help))
    }
}

impl Desk {
    /// The garage's memory: as the cylinder has it that is answered for, where there are several.
    pub(in crate::commands) fn book<'g>(&self, garage: &'g Garage) -> Result<Book<'g>, Trouble> {
        let book = Book::open(garage)?;
        Ok(match &*self.lens.borrow() {
            Some(lens) => book.for_cylinder(&lens.name),
            None => book,
        })
    }

    /// What an answer says of the cylinder it is for.
    pub(in crate::commands) fn at_cylinder(&self) -> Option<AtCylinder> {
        self.lens.borrow().as_ref().map(|lens| lens.at.clone())
    }

    /// Does something at one of several cylinders; an answer says its name where it is `named`.
    fn looking_at<T>(&self, (name, named): (&str, bool), each: &[FieldSet], run: impl FnOnce() -> T) -> T {
        let total = each.iter().map(displacement_cc).sum::<Option<f64>>().map(Figure);
        let shown = named.then(|| name.to_owned());
        let at = AtCylinder { name: shown, of: each.len(), displacement_cc: total };
        *self.lens.borrow_mut() = Some(Lens { name: name.to_owned(), at });
        let done = run();
        *self.lens.borrow_mut() = None;
        done
    }

    /// Answers once for an engine with one cylinder, for the one of several that is asked about, and for several where one answer
    /// does for all of them (`alike`); for each of several otherwise.
    pub(in crate::commands) fn answers<T>(
        &self,
        asked: &CylinderOption,
        whole: &Combination,
        alike: impl Fn(&[FieldSet]) -> bool,
        run: impl Fn() -> Result<T, Trouble>,
    ) -> Result<Answers<T>, Trouble> {
        let names = whole.fields.cylinders();
        asked.require_one_of(&names)?;
        let Some(first) = names.first() else { return Ok(Answers::One(run()?)) };
        let each: Vec<FieldSet> = names.iter().map(|name| whole.fields.for_cylinder(name)).collect();
        let look = |name: &str, named: bool| self.looking_at((name, named), &each, &run);
        match asked.name() {
            Some(name) => Ok(Answers::One(look(name, true)?)),
            None if alike(&each) => Ok(Answers::One(look(first, false)?)),
            None => {
                let of_one = |name: &String| Ok((name.clone(), look(name, true)?));
                Ok(Answers::Each(names.iter().map(of_one).collect::<Result<_, Trouble>>()?))
            }
        }
    }
}

/// Bore and stroke of one cylinder as a volume, cc.
fn displacement_cc(fields: &FieldSet) -> Option<f64> {
    let length = |field: &str| fields.quantity(field).map(Quantity::si);
    let (bore, stroke) = (length("engine.bore")?, length("engine.stroke")?);
    Some(std::f64::consts::FRAC_PI_4 * bore * bore * stroke * 1e6)
}

/// The names of cylinders as typed; a number alone numbers them.
pub(in crate::commands) fn named_cylinders(typed: &[String]) -> Result<Vec<String>, Trouble> {
    let names = match typed {
        [one] => match one.trim().parse::<usize>() {
            Ok(1) => Vec::new(),
            Ok(many) => (1..=many.min(MOST + 1)).map(|number| number.to_string()).collect(),
            Err(_) => vec![one.trim().to_owned()],
        },
        names => names.iter().map(|name| name.trim().to_owned()).collect(),
    };
    let wrong = |message: String, help: String| Trouble::request(Some("cylinders"), message, help);
    if let Some((message, help)) = names.iter().find_map(|name| wrong_name(name)) {
        return Err(wrong(message, help));
    }
    if names.len() == 1 || names.len() > MOST || typed.len() == 1 && typed[0].trim() == "0" {
        let help =
            format!("Name 2 to {MOST}, like --cylinders left,right, or say how many; one needs no name.");
        return Err(wrong(format!("--cylinders {} is not possible.", visible(&typed.join(","))), help));
    }
    if let Some(name) = names.iter().enumerate().find(|(at, name)| names[..*at].contains(name)) {
        return Err(wrong(
            format!("Two cylinders are called {}.", name.1),
            "Give each a name of its own.".into(),
        ));
    }
    Ok(names)
}
