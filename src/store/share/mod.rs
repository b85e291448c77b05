//! Sharing a garage: what others recorded is brought, what was recorded here is sent, and the two are brought together by what they
//! mean. Git carries it all, so that plain git can do the same.
//!
//! Nothing here is touched before all of what was brought was looked through and every question is answered; then files, commit and
//! git's index change as one act, with the note that every writer leaves. What was before is the parent of what is now, and
//! `refs/reedbook/before` names it.

mod before;
mod brought;
mod foreign;
mod merge;
mod metal;
pub(in crate::store) mod remote;
mod runs;
mod setups;
mod stick;
mod taken;
mod trees;
mod turns;
pub(in crate::store) mod wire;
mod words;

use std::collections::BTreeMap;
use std::path::Path;

use git2::Oid;

use crate::machine::Moment;
use crate::notebook::Outing;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, GitCommand, Guidance};
use crate::store::book::Book;
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::bound;
use crate::store::history::numbers::{self, Numbers, Renumbered};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::SETTLED_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers;
use crate::store::index::rows::path_text;
use crate::store::records::SetupRecord;
use crate::store::share::remote::{SHARED, Sent};
use crate::store::share::setups::Chosen;
pub use crate::store::share::setups::KeptMetal;
pub(in crate::store) use crate::store::share::trees::kind_of;
use crate::store::writing::outings::take_in;
pub use before::{Before, BikeBefore, DocumentBefore, before_share, put_back};
pub use brought::{BroughtRun, share_was_told};
use merge::{Answers, MergePlan, Reasons};
use setups::MergeSides;
pub use setups::{FieldRow, Keep, MapRow, SetupQuestion, SideWords};
use stick::Stick;
use wire::Remote;
pub use wire::is_address;
pub(in crate::store) use words::is_readable;
use words::{asked_of, chosen_message, keep_of, word_of};

/// The newest commit here before others' was brought.
const BEFORE: &str = "refs/reedbook/before";
/// The commit that it was brought to.
const AFTER: &str = "refs/reedbook/after";
/// How often others may be quicker.
const TRIES: usize = 8;

/// What is asked of a share.
#[derive(Debug, Clone, Default)]
pub struct ShareRequest {
    /// The folder or address, where it is not known yet or is another one now.
    pub with: Option<String>,
    /// Whether a repository is made there.
    pub new: bool,
    /// Which side of what is kept.
    pub keep: Vec<(String, Keep)>,
    /// In the user's words, why that is kept.
    pub why: Option<String>,
    /// Take in what there is although what was shared once is not in it any more.
    pub rewritten: bool,
    /// Tells a run that was lean or seized, and holds.
    pub lean: Option<fn(&Outing) -> bool>,
}

/// What a share did.
#[derive(Debug, Default)]
pub struct Shared {
    /// What it is shared through.
    pub remote: String,
    /// Setups that others recorded.
    pub setups: Vec<SetupRecord>,
    /// Runs that others logged, mended or took out.
    pub runs: Vec<BroughtRun>,
    /// How many of other documents came, by what they are.
    pub brought: BTreeMap<&'static str, usize>,
    /// How many commits were sent.
    pub sent: usize,
    /// What has to be answered before anything is brought or sent.
    pub questions: Vec<SetupQuestion>,
    /// What was answered: the bike, which side, and the setup that it became.
    pub settled: Vec<Settled>,
    /// Setups of ours whose number gave way, with their bike.
    pub renumbered: Vec<(String, Renumbered)>,
    /// What else is to be known, sentences.
    pub notes: Vec<Guidance>,
}

/// A question of a bike's setup that was answered.
#[derive(Debug)]
pub struct Settled {
    /// The bike.
    pub bike: String,
    /// Which side.
    pub keep: Keep,
    /// The setup that it became.
    pub setup: SetupRecord,
    /// Number of the one that was recorded here before.
    pub ours: Option<u32>,
    /// What was cut in metal on the side that was not kept.
    pub metal: Vec<KeptMetal>,
}

/// Brings and sends.
pub fn share(garage: &Garage, request: &ShareRequest, moment: &Moment) -> Result<Shared, StoreError> {
    let repository = garage.repository();
    if repository.is_shallow() {
        return Err(StoreError::request(
            None,
            "This clone holds only the end of its history, so it cannot tell what both sides had.",
            Guidance::from("Fetch the rest once: ") + GitCommand::BringTheRest + ".",
        ));
    }
    repository.require_clean_state()?;
    let branch = repository.branch_name()?;
    let known = remote::known(garage, &branch)?;
    let address = request.with.clone().or(known.clone()).ok_or_else(|| {
        StoreError::request(
            Some("with"),
            "Not set up for sharing yet.",
            Guidance::from("Say it once: ")
                + Command::ShareWith
                + " (a stick, a disk of the shop's; "
                + CommandOption::New
                + " makes the repository there), or an address that git reaches.",
        )
    })?;
    let remote = Remote::parse(&address)?;
    if let (true, Remote::Folder(path)) = (request.new, &remote) {
        Stick::make(path, &branch, garage)?;
    }
    let mut shared = Shared { remote: remote.words(), ..Shared::default() };
    let _turn = turns::of_sharing(garage, moment)?;
    for turn in 0..TRIES {
        let theirs = remote.fetch(garage, &branch)?;
        let is_new_place = known.as_deref() != Some(&address);
        let meeting = Meeting { garage, request, moment, theirs, is_new_place };
        if turn == 0 {
            meeting.tell_untold(&mut shared)?;
        }
        let together = meeting.together(&mut shared)?;
        // Not before it has proved to be the same garage, or a place that nothing was sent to yet.
        if known.as_deref() != Some(&address) && (theirs.is_some() || together.is_none()) {
            remote::remember(garage, &branch, &address)?;
        }
        let Some(commit) = together else { return Ok(shared) };
        meeting.require_whole(commit)?;
        if theirs == Some(commit) {
            return meeting.met(shared, commit);
        }
        let sent = repository.commits_since(commit, theirs)?.len();
        if remote.send((garage, moment), &branch, (theirs, commit))? == Sent::Done {
            shared.sent = sent;
            meeting.tell_taken(&mut shared, commit)?;
            remote::remember(garage, &branch, &address)?;
            return meeting.met(shared, commit);
        }
    }
    Err(StoreError::request(
        None,
        format!("Others sent to {} each time, so what was recorded here is not there yet.", remote.words()),
        "Share again; nothing is lost.",
    ))
}

struct Meeting<'g> {
    garage: &'g Garage,
    request: &'g ShareRequest,
    moment: &'g Moment,
    theirs: Option<Oid>,
    /// Whether it was shared through another place before: what was shared there need not be here.
    is_new_place: bool,
}

impl Meeting<'_> {
    /// Brings both sides together here; gives the commit that both are to have, none where questions are open.
    fn together(&self, shared: &mut Shared) -> Result<Option<Oid>, StoreError> {
        let garage = self.garage;
        let repository = garage.repository();
        let _lock = garage.begin_writing(self.moment)?;
        self.take_in_edits()?;
        let head = repository.head()?;
        let (ours, theirs) = match (head, self.theirs) {
            (Some(ours), Some(theirs)) => (ours, theirs),
            (Some(ours), None) => return Ok(Some(ours)),
            (None, _) => {
                return Err(StoreError::request(
                    None,
                    "Nothing is recorded in this garage yet.",
                    "Record something first, or clone the shared garage with git.",
                ));
            }
        };
        self.require_kept(theirs)?;
        if ours == theirs || repository.is_ancestor(theirs, ours) {
            self.nothing_asked(shared);
            return self.settle_numbers(shared, (ours, theirs), false).map(Some);
        }
        if repository.is_ancestor(ours, theirs) {
            let changes = self.forward(ours, theirs)?;
            self.require_nothing_taken(ours, theirs)?;
            words::require_tables(&changes)?;
            self.require_recorded(&changes, ours)?;
            self.nothing_asked(shared);
            self.mark(ours, theirs)?;
            let why = "share: get what others logged";
            repository.bring_to(
                theirs,
                &changes,
                (why, &|done, of| garage.tell("writing files", done, of)),
            )?;
            self.tell(shared, (ours, theirs), &changes)?;
            return self.settle_numbers(shared, (theirs, ours), true).map(Some);
        }
        let base = repository.git().merge_base(ours, theirs).map_err(|_| {
            StoreError::request(
                None,
                "The other side is another garage: the two have no commit in common.",
                "Clone the shared garage with git and record there, or name another folder or address; nothing was touched.",
            )
        })?;
        let sides = MergeSides { base, ours, theirs };
        let (answers, reasons) = self.answers(shared, sides)?;
        self.require_nothing_taken(base, theirs)?;
        let plan = merge::plan(garage, sides, &answers, self.lean())?;
        if !plan.questions.is_empty() {
            self.note_asked(&plan.questions)?;
            for (subject, _) in &self.request.keep {
                if asked_of(subject, &plan.questions).is_err() {
                    let noted =
                        format!("{}: noted. It is taken once the rest is answered.", visible(subject));
                    shared.notes.push(noted.into());
                }
            }
            shared.questions = plan.questions;
            return Ok(None);
        }
        self.merge(shared, sides, (plan, &reasons)).map(Some)
    }

    /// Numbers that plain git left doubled are settled before they are sent: what is shared already stands, ours give way.
    /// One that was shared and that plain git took out comes back; with `only_lost` nothing else is done.
    fn settle_numbers(
        &self,
        shared: &mut Shared,
        (ours, theirs): (Oid, Oid),
        only_lost: bool,
    ) -> Result<Oid, StoreError> {
        let repository = self.garage.repository();
        let text = |commit: Oid, path: &Path| -> Result<String, StoreError> {
            let bytes = repository.file(&repository.tree(commit)?, path)?;
            Ok(String::from_utf8_lossy(&bytes.unwrap_or_default()).into_owned())
        };
        let mut changes = Vec::new();
        for bike in self.garage.bikes() {
            let path = Garage::bike_folder(&bike).join("numbers");
            let own = text(ours, &path)?;
            let (known, lost) = numbers::lost(&text(theirs, &path)?, &own);
            if lost.is_empty() && (only_lost || Numbers::read(&[&own]).doubled().next().is_none()) {
                continue;
            }
            let (settled, gave_way) = numbers::merged("", &own, &known);
            shared.notes.extend(words::of_lost_numbers(&bike, &lost));
            if !gave_way.is_empty() || !lost.is_empty() {
                shared.renumbered.extend(gave_way.into_iter().map(|one| (bike.clone(), one)));
                changes.push((path, Some(settled.into_bytes())));
            }
        }
        if changes.is_empty() {
            return Ok(ours);
        }
        let message = Message { why: "Settle numbers that two setups took".into(), trailers: Vec::new() };
        let settled = repository.record_by_the_way(&changes, &message, self.moment.now, self.moment.now)?;
        self.note_untold(ours, settled)?;
        Ok(settled)
    }

    /// What was written by hand is recorded first, like before any writer.
    fn take_in_edits(&self) -> Result<(), StoreError> {
        for bike in self.garage.bikes() {
            take_in(self.garage, &bike, self.moment)?;
        }
        for engine in self.garage.engines() {
            papers::take_in(self.garage, Paper::Build, Some(&engine), self.moment)?;
        }
        papers::take_in(self.garage, Paper::Part, None, self.moment)?;
        papers::take_in(self.garage, Paper::Job, None, self.moment)
    }

    /// What was shared once is still there; what somebody rewrote is not taken in unasked.
    fn require_kept(&self, theirs: Oid) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let Ok(shared) = repository.git().refname_to_id(SHARED) else { return Ok(()) };
        if self.request.rewritten || self.is_new_place || repository.is_ancestor(shared, theirs) {
            return Ok(());
        }
        Err(StoreError::request(
            None,
            "The other side's history was rewritten: what was shared before is not in it any more.",
            Guidance::from("Ask who did that and why. ")
                + Command::ShareRewritten
                + " brings both together all the same and loses nothing; nothing was touched.",
        ))
    }

    /// The files in which theirs differ, where ours are only older.
    fn forward(&self, ours: Oid, theirs: Oid) -> Result<Vec<FileChange>, StoreError> {
        let repository = self.garage.repository();
        let files = trees::differing(repository.git(), None, ours, theirs)?;
        let bytes = |file: trees::Differing| {
            let bytes = file.theirs.map(|id| repository.blob(&file.path, id)).transpose()?;
            Ok((file.path, bytes))
        };
        files.into_iter().map(bytes).collect()
    }

    /// Files that are about to be written are as they were recorded: nobody's edit is overwritten.
    fn require_recorded(&self, changes: &[FileChange], ours: Oid) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let tree = repository.tree(ours)?;
        for (path, bytes) in changes {
            let on_disk = self.garage.read(path)?;
            if on_disk == *bytes || on_disk == repository.file(&tree, path)? {
                continue;
            }
            return Err(StoreError::request(
                None,
                format!(
                    "{} was edited and not recorded, and others changed it too.",
                    visible(&path_text(path))
                ),
                Guidance::from("Record it first (")
                    + Command::CheckGarage
                    + " says how), or bring back what was recorded; nothing was touched.",
            ));
        }
        Ok(())
    }

    fn mark(&self, ours: Oid, brought: Oid) -> Result<(), StoreError> {
        let repository = self.garage.repository().git();
        for (name, commit) in [(BEFORE, ours), (AFTER, brought)] {
            repository.reference(name, commit, true, "share").map_err(git("note what was before"))?;
        }
        self.note_untold(ours, brought)
    }

    fn lean(&self) -> fn(&Outing) -> bool {
        self.request.lean.unwrap_or(|_| false)
    }

    /// Answers that were given before and now, and why. One that fits no open question is refused.
    fn answers(&self, shared: &mut Shared, sides: MergeSides) -> Result<(Answers, Reasons), StoreError> {
        let own = self.garage.repository().own();
        let (mut answers, mut reasons) = (Answers::new(), Reasons::new());
        let known = own.read_at_most(&Self::answers_file(), bound::DOCUMENT)?.unwrap_or_default();
        for line in String::from_utf8_lossy(&known).lines() {
            let mut words = line.splitn(3, ' ');
            if let (Some(fingerprint), Some(keep)) = (words.next(), words.next().and_then(keep_of)) {
                answers.insert(fingerprint.to_owned(), keep);
                let why = words.next().and_then(|why| serde_json::from_str(why).ok());
                reasons.extend(why.map(|why| (fingerprint.to_owned(), why)));
            }
        }
        if self.request.keep.is_empty() {
            return Ok((answers, reasons));
        }
        let open = merge::plan(self.garage, sides, &Answers::new(), self.lean())?.questions;
        for (subject, keep) in &self.request.keep {
            let question = asked_of(subject, &open)?;
            if self.has_moved_on(question)? {
                let moved = format!(
                    "{}: what is asked is otherwise than when it was shown, so that answer does not count. Look at both sides and say it again.",
                    visible(subject)
                );
                shared.notes.push(moved.into());
                answers.remove(&question.fingerprint);
                continue;
            }
            if let (Keep::Both, Some(apart)) = (keep, &question.apart) {
                return Err(StoreError::request(
                    Some("keep"),
                    format!(
                        "The two sides of {} cannot be combined: {}.",
                        visible(subject),
                        visible(apart.trim_end_matches('.'))
                    ),
                    setups::one_or_the_other(),
                ));
            }
            runs::require_a_reason(question, *keep, self.request.why.as_deref())?;
            answers.insert(question.fingerprint.clone(), *keep);
            reasons.remove(&question.fingerprint);
            reasons.extend(self.request.why.clone().map(|why| (question.fingerprint.clone(), why)));
        }
        let line = |(fingerprint, keep): (&String, &Keep)| match reasons.get(fingerprint) {
            Some(why) => {
                format!("{fingerprint} {} {}\n", word_of(*keep), serde_json::Value::from(why.as_str()))
            }
            None => format!("{fingerprint} {}\n", word_of(*keep)),
        };
        let lines: String = answers.iter().map(line).collect();
        own.write(&Self::answers_file(), lines.as_bytes())?;
        Ok((answers, reasons))
    }

    /// One commit of both sides, and one more for each bike whose setup was chosen; all of them stand at once.
    fn merge(
        &self,
        shared: &mut Shared,
        sides: MergeSides,
        (plan, reasons): (MergePlan, &Reasons),
    ) -> Result<Oid, StoreError> {
        let repository = self.garage.repository();
        let now = self.moment.now;
        let mut changes: BTreeMap<_, _> = plan.changes.clone();
        let together: Vec<FileChange> = plan.changes.into_iter().collect();
        let mut trailers = Vec::new();
        if !plan.settled.is_empty() {
            let bikes: Vec<_> = plan.settled.iter().map(|chosen| chosen.question.subject.as_str()).collect();
            trailers.push((SETTLED_TRAILER, bikes.join(" ")));
        }
        let mut why = "Bring together what was recorded on two sides".to_owned();
        // A reason for a bike stands with its setup.
        if let (true, Some(reason)) = (plan.settled.is_empty(), &self.request.why) {
            why = format!("{why}\n\n{reason}");
        }
        let message = Message { why, trailers };
        let (mut commit, _) =
            repository.unreferenced(&together, &message, (now, now), &[sides.ours, sides.theirs])?;
        let book = Book::open(self.garage)?;
        for chosen in &plan.settled {
            let bike = &chosen.question.subject;
            let path = Garage::bike_folder(bike).join("numbers");
            let text = match changes.get(&path) {
                Some(bytes) => bytes.clone(),
                None => repository.file(&repository.tree(sides.ours)?, &path)?,
            };
            let mut numbers = Numbers::read(&[&String::from_utf8_lossy(&text.unwrap_or_default())]);
            // What plain git recorded here has no line yet: it comes before the one that is chosen.
            for setup in book.setups(bike)? {
                numbers.give(&setup.id);
            }
            let id = self.moment.new_id(&format!("chosen setup {} of {bike}", numbers.count() + 1));
            numbers.give(&id);
            let change = (path, Some(numbers.text().into_bytes()));
            let message =
                chosen_message(chosen, &id, reasons.get(&chosen.question.fingerprint).map(String::as_str));
            (commit, _) =
                repository.unreferenced(std::slice::from_ref(&change), &message, (now, now), &[commit])?;
            changes.insert(change.0, change.1);
        }
        let changes: Vec<FileChange> = changes.into_iter().collect();
        words::require_tables(&changes)?;
        self.require_recorded(&changes, sides.ours)?;
        self.mark(sides.ours, commit)?;
        let heard = |done, of| self.garage.tell("writing files", done, of);
        repository.bring_to(commit, &changes, ("share: bring together", &heard))?;
        repository.own().remove(&Self::answers_file())?;
        repository.own().remove(&Self::asked_file())?;
        shared.renumbered.extend(plan.renumbered);
        shared.notes.extend(plan.notes);
        self.tell(shared, (sides.ours, sides.theirs), &changes)?;
        drop(book);
        let book = Book::open(self.garage)?;
        for Chosen { question, keep, metal } in plan.settled {
            if let Some(setup) = book.latest(&question.subject)? {
                let setups = book.setups(&question.subject)?;
                let ours = setups.iter().find(|setup| Some(&setup.id) == question.ours.id.as_ref());
                let ours = ours.map(|setup| setup.number);
                shared.settled.push(Settled { bike: question.subject, keep, setup, ours, metal });
            }
        }
        Ok(commit)
    }

    fn met(&self, shared: Shared, commit: Oid) -> Result<Shared, StoreError> {
        let repository = self.garage.repository().git();
        repository.reference(SHARED, commit, true, "share").map_err(git("note what was shared"))?;
        remote::track(self.garage, &self.garage.repository().branch_name()?, commit)?;
        Ok(shared)
    }
}
