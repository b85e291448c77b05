//! Git's objects that were cut short, as a disk leaves them that had not written what it said.
//!
//! libgit2 (1.9.7 and before) never comes back from a loose object whose packed bytes end too soon: it asks for more of what is not there.
//! So a watch stands beside whatever reads a garage: where the processor is at work and nothing shows a sign of life, it looks for such an
//! object, and where there is one it is said and the program ends, as it may at any moment. Once a libgit2 is released that sees
//! the end by itself, the watch can go.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::thread;
use std::time::Duration;

use flate2::{Decompress, FlushDecompress, Status};

use crate::machine;
use crate::store::error::StoreError;
use crate::store::folder::gate::entry::EntryKind;
use crate::store::folder::gate::{Gate, bound};
use crate::store::history::signs::signs;

/// Says what was found and ends the program.
type Says = Box<dyn Fn(StoreError) + Send + Sync>;

/// Time without a sign of life until objects are looked at, and what of it the processor was at work: who waits for an editor, an
/// answer or another program is not stuck. On a machine that does twenty things it is said within 5 s all the same.
const STUCK: Duration = Duration::from_secs(1);
const BUSY: Duration = Duration::from_millis(100);
const BETWEEN_LOOKS: Duration = Duration::from_millis(100);

static SAYS: OnceLock<Says> = OnceLock::new();
static WATCHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Names who says that an object is cut short, and ends the program; without it nothing is watched.
pub fn say_when_stuck(says: impl Fn(StoreError) + Send + Sync + 'static) {
    // A second one has nothing else to say.
    let _ = SAYS.set(Box::new(says));
}

/// Stands beside whatever reads the objects of a repository from now on.
pub(in crate::store) fn watch(repository: &git2::Repository) {
    let Some(says) = SAYS.get() else { return };
    let mut watched = WATCHED.lock().unwrap_or_else(PoisonError::into_inner);
    let folder = repository.commondir().join("objects");
    if watched.contains(&folder) {
        return;
    }
    watched.push(folder);
    // One looks on for all, as long as the program runs: pages open the garage again and again.
    if watched.len() == 1 {
        // Without a thread it is as it was.
        let _ = thread::Builder::new().name("watch".into()).spawn(move || look_on(says));
    }
}

fn look_on(says: &Says) {
    let (mut seen, mut since, mut patience) = (u64::MAX, (Duration::ZERO, Duration::ZERO), STUCK);
    while let Some(used) = machine::processor_time() {
        let (signs, now) = (signs(), machine::ticking());
        if signs != seen {
            (seen, since, patience) = (signs, (now, used), STUCK);
        } else if now.saturating_sub(since.0) >= patience && used.saturating_sub(since.1) >= BUSY {
            let folders = WATCHED.lock().unwrap_or_else(PoisonError::into_inner).clone();
            if let Some(path) = folders.iter().find_map(|folder| first_cut_short(folder)) {
                says(StoreError::CutShort(path));
            }
            // Nothing is wrong: something takes long.
            patience *= 4;
        }
        thread::sleep(BETWEEN_LOOKS);
    }
}

/// An object that is cut short, looked for among the newest first; none where all are whole.
fn first_cut_short(folder: &Path) -> Option<PathBuf> {
    let gate = Gate::of_git_alone(folder).ok()?;
    let mut objects: Vec<(i64, PathBuf)> =
        loose(&gate).filter_map(|path| Some((gate.about(&path).ok()??.modified, path))).collect();
    objects.sort_by(|one, two| two.cmp(one));
    objects.into_iter().find(|(_, path)| is_cut_short(&gate, path)).map(|(_, path)| folder.join(path))
}

/// Every object in a folder of them that is cut short, by its id.
pub(in crate::store) fn all_cut_short(folder: &Path) -> Vec<String> {
    let Ok(gate) = Gate::of_git_alone(folder) else { return Vec::new() };
    let cut = loose(&gate).filter(|path| is_cut_short(&gate, path));
    cut.map(|path| path.to_string_lossy().replace(['/', '\\'], "")).collect()
}

/// The paths of loose objects. What git left behind in the middle of writing one (`tmp_obj_…`) is none, and nobody reads it.
fn loose(gate: &Gate) -> impl Iterator<Item = PathBuf> {
    (0..=255_u8).flat_map(move |first| {
        let inner = PathBuf::from(format!("{first:02x}"));
        let entries = gate.folder(&inner).ok().flatten().and_then(|folder| folder.entries().ok());
        let objects = entries.unwrap_or_default().into_iter();
        let objects = objects.filter(|(name, kind)| *kind == EntryKind::Plain && is_rest_of_id(name));
        objects.map(move |(name, _)| inner.join(name)).collect::<Vec<_>>()
    })
}

/// Whether a name is an object's: the 38 digits of its id that are not its folder's.
fn is_rest_of_id(name: &OsStr) -> bool {
    name.len() == 38 && name.as_encoded_bytes().iter().all(u8::is_ascii_hexdigit)
}

fn is_cut_short(gate: &Gate, path: &Path) -> bool {
    gate.read_at_most(path, bound::OBJECT).is_ok_and(|bytes| bytes.is_some_and(|bytes| ends_too_soon(&bytes)))
}

/// Whether packed bytes are right as far as they go, and end before they say so.
fn ends_too_soon(packed: &[u8]) -> bool {
    let mut stream = Decompress::new(true);
    let mut out = [0; 16_384];
    loop {
        let before = (stream.total_in(), stream.total_out());
        let rest = usize::try_from(before.0).ok().and_then(|at| packed.get(at..)).unwrap_or_default();
        match stream.decompress(rest, &mut out, FlushDecompress::None) {
            Ok(Status::StreamEnd) | Err(_) => return false,
            Ok(_) if (stream.total_in(), stream.total_out()) == before => return true,
            Ok(_) => {}
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // a test may fail loudly
mod tests {
    use std::io::Write as _;

    use super::*;

    fn packed() -> Vec<u8> {
        let text = b"blob 300\0"
            .iter()
            .copied()
            .chain((0..300_u16).map(|at| (at * 7 % 251) as u8))
            .collect::<Vec<_>>();
        let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::default());
        packer.write_all(&text).unwrap();
        packer.finish().unwrap()
    }

    #[test]
    fn what_git_left_in_the_middle_of_writing_an_object_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let gate = Gate::of_git_alone(folder.path()).unwrap();
        let put = |name: &str, bytes: &[u8]| {
            gate.make_folder(Path::new(&name[..2])).unwrap();
            gate.write(Path::new(name), bytes).unwrap();
        };
        let packed = packed();
        let half = &packed[..packed.len() / 2];
        put("3f/tmp_obj_Xa81bq", half);
        put("3f/0123456789abcdef0123456789abcdef01234", half);
        put(&format!("3f/{}", "0".repeat(38)), &packed);
        assert_eq!(first_cut_short(folder.path()), None);
        assert!(all_cut_short(folder.path()).is_empty());
        put(&format!("40/{}", "1".repeat(38)), half);
        assert_eq!(all_cut_short(folder.path()), [format!("40{}", "1".repeat(38))]);
        assert!(first_cut_short(folder.path()).unwrap().ends_with(format!("40/{}", "1".repeat(38))));
    }

    #[test]
    fn only_what_ends_before_its_end_is_cut_short() {
        let packed = packed();
        assert!(!ends_too_soon(&packed));
        for length in 0..packed.len() {
            assert!(ends_too_soon(&packed[..length]), "{length} of {}", packed.len());
        }
        let mut flipped = packed.clone();
        flipped[0] ^= 0x15;
        assert!(!ends_too_soon(&flipped), "what is wrong from the beginning is refused by itself");
    }
}
