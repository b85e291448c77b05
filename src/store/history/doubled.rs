//! Numbers that two setups took, each on its own side of a merge: which of them is meant is asked, never guessed.

use git2::Oid;

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::records::{SetupName, SetupRecord};
use crate::store::share::remote;

fn numbers_of(bike: &str) -> String {
    Garage::bike_folder(bike).join("numbers").display().to_string()
}

/// The line of one that took a number as well, and how it reads once that is settled. Taken out, it could not be told from a list that is cut
/// short.
fn settling(number: u32, other: &SetupRecord) -> (String, String) {
    (format!("{number} {}", other.id), format!("{} {} was {number}", other.number, other.id))
}

impl Book<'_> {
    /// What there is to say of the numbers of a bike that two setups took, a sentence each.
    pub fn doubled_numbers(&self, bike: &str) -> Result<Vec<Guidance>, StoreError> {
        let mut doubled: Vec<u32> = self.numbers(bike)?.doubled().collect();
        doubled.sort_unstable();
        doubled.dedup();
        let mut sentences = Vec::new();
        for number in doubled {
            let Some((has, others)) = self.takers(bike, number)? else { continue };
            let said = self.said(number, &has, &others);
            let settled = if self.is_shared() {
                Guidance::from("The one that was shared first keeps the number, once it is settled with ")
                    + Command::Share
                    + "."
            } else {
                let (line, new) = settling(number, &others[0]);
                format!("It is settled when the line `{line}` of {} reads `{new}`.", numbers_of(bike)).into()
            };
            sentences.push(Guidance::from(said) + " " + settled);
        }
        Ok(sentences)
    }

    /// Fails where a setup is named by a number that another took as well.
    pub(in crate::store) fn require_settled(&self, bike: &str, name: &SetupName) -> Result<(), StoreError> {
        let SetupName::Number(number) = name else { return Ok(()) };
        let Some((has, others)) = self.takers(bike, *number)? else { return Ok(()) };
        let settle = if self.is_shared() {
            Command::Share + " settles which of them keeps it"
        } else {
            let (line, new) = settling(*number, &others[0]);
            let file = numbers_of(bike);
            format!("settle it first: make the line `{line}` of {file} read `{new}`, and say it again").into()
        };
        Err(StoreError::request(
            None,
            self.said(*number, &has, &others),
            Guidance::from(format!("Name {} if that one is meant; else ", others[0].number)) + settle + ".",
        ))
    }

    /// Whether others know numbers of this garage: which of two was shared first, a share can tell.
    fn is_shared(&self) -> bool {
        let branch = self.garage().repository().branch_name();
        branch.is_ok_and(|branch| remote::known(self.garage(), &branch).is_ok_and(|known| known.is_some()))
    }

    /// The setup that has a number and those that took it as well; none where it was taken once.
    fn takers(&self, bike: &str, number: u32) -> Result<Option<(SetupRecord, Vec<SetupRecord>)>, StoreError> {
        let numbers = self.numbers(bike)?;
        let ids: Vec<&str> = numbers.others_of(number).collect();
        if ids.is_empty() {
            return Ok(None);
        }
        let setups = self.setups(bike)?;
        let has = setups.iter().find(|setup| setup.number == number).cloned();
        let others: Vec<_> = setups.into_iter().filter(|setup| ids.contains(&setup.id.as_str())).collect();
        Ok(has.filter(|_| !others.is_empty()).map(|has| (has, others)))
    }

    fn said(&self, number: u32, has: &SetupRecord, others: &[SetupRecord]) -> String {
        let words = |setup: &SetupRecord| {
            let commit = Oid::from_str(&setup.commit).ok();
            let commit = commit.and_then(|id| self.garage().repository().commit(id).ok());
            let author = commit.and_then(|commit| Some(visible(commit.author().name().ok()?)));
            let why = setup.why.lines().next().unwrap_or_default();
            let by = author.map(|author| format!(" by {author}")).unwrap_or_default();
            format!("\"{}\"{by} on {}", visible(why), setup.date.day())
        };
        let others: Vec<_> =
            others.iter().map(|other| format!("{}, which is {} here", words(other), other.number)).collect();
        format!(
            "Setup {number} of {} is two: {}, which has the number here, and {}.",
            has.bike,
            words(has),
            others.join(", and ")
        )
    }
}
