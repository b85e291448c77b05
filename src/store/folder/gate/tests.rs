//! The calls of both systems keep the same rules, and the gate above them.
#![cfg(unix)] // links and pipes

use std::ffi::OsStr;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::rc::Rc;

use super::{Gate, Odd, bound};
use crate::store::error::StoreError;
use crate::store::folder::gate::entry::EntryKind;

macro_rules! the_same_rules {
    ($name:ident, $system:ident) => {
        #[test]
        fn $name() {
            use super::$system::FolderHandle as Folder;
            let above = tempfile::tempdir().unwrap();
            let top = above.path().join("top");
            fs::create_dir_all(top.join("inner")).unwrap();
            fs::write(above.path().join("private"), "private").unwrap();
            fs::write(top.join("plain"), "text").unwrap();
            symlink(above.path().join("private"), top.join("link")).unwrap();
            symlink(above.path(), top.join("linked")).unwrap();
            symlink(&top, above.path().join("by")).unwrap();
            let name = |name: &'static str| OsStr::new(name);

            let folder = Folder::top(&above.path().join("by")).unwrap();
            assert!(Folder::top(&above.path().join("private")).is_err());
            let kind = |of: &'static str| folder.about(name(of)).unwrap().map(|about| about.kind);
            assert_eq!(kind("plain"), Some(EntryKind::Plain));
            assert_eq!(kind("inner"), Some(EntryKind::Folder));
            assert_eq!(kind("link"), Some(EntryKind::Odd(Odd::Link)));
            assert_eq!(kind("nothing"), None);
            let mut entries = folder.entries().unwrap();
            entries.sort_by(|one, two| one.0.cmp(&two.0));
            let kinds: Vec<_> =
                entries.into_iter().map(|(name, kind)| (name.into_string().unwrap(), kind)).collect();
            let odd = EntryKind::Odd(Odd::Link);
            let wanted =
                [("inner", EntryKind::Folder), ("link", odd), ("linked", odd), ("plain", EntryKind::Plain)];
            assert_eq!(kinds, wanted.map(|(name, kind)| (name.to_owned(), kind)));

            assert!(folder.inner(name("linked")).is_err(), "a linked folder was opened");
            assert!(folder.inner(name("plain")).is_err());
            assert!(folder.open(name("link")).is_err(), "a link was opened");
            assert!(folder.open_or_make(name("link")).is_err(), "a link was opened to be written");
            assert_eq!(folder.open(name("plain")).unwrap().1.size, 4);
            assert!(folder.make(name("plain")).is_err(), "a file was made anew");
            assert!(folder.make(name("link")).is_err());
            let inner = folder.inner(name("inner")).unwrap();
            let made = inner.make(name("made")).unwrap();
            Folder::permit(&made, 0o640).unwrap();
            let taken = inner.make(name("made")).unwrap_err();
            assert!(!super::$system::is_another_disk(&taken));
            inner.rename(name("made"), &folder, name("link")).unwrap();
            assert_eq!(kind("link"), Some(EntryKind::Plain), "the name itself is taken over");
            folder.link(name("plain"), &inner, name("second")).unwrap();
            assert!(folder.link(name("plain"), &inner, name("second")).is_err());
            folder.remove(name("linked")).unwrap();
            folder.sync().unwrap();
            folder.make_folder(name("more")).unwrap();
            assert_eq!(kind("more"), Some(EntryKind::Folder));
            assert_eq!(fs::read_to_string(above.path().join("private")).unwrap(), "private");
        }
    };
}

the_same_rules!(rules_of_unix, unix);
the_same_rules!(rules_where_there_is_no_openat, portable);

fn odd<T>(result: Result<T, StoreError>) -> Option<Odd> {
    match result {
        Err(StoreError::Barred(barred)) => Some(barred.what),
        _ => None,
    }
}

#[test]
fn no_path_leads_out_of_the_garage_or_into_its_repository() {
    let folder = tempfile::tempdir().unwrap();
    let gate = Gate::of_garage(folder.path()).unwrap();
    for path in ["/etc/passwd", "../x", "a/../../x", "a/../x", ".git/x", "a/.GIT/x", "git~1/x", "", "..", "/"]
    {
        let path = Path::new(path);
        assert_eq!(odd(gate.read(path)), Some(Odd::Outside), "{}", path.display());
        assert_eq!(odd(gate.write(path, b"x")), Some(Odd::Outside), "{}", path.display());
        assert_eq!(odd(gate.remove(path)), Some(Odd::Outside), "{}", path.display());
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn no_more_is_read_than_a_file_of_its_kind_may_have() {
    let folder = tempfile::tempdir().unwrap();
    let gate = Gate::of_garage(folder.path()).unwrap();
    let file = Path::new("parts/p1.toml");
    let most = usize::try_from(bound::DOCUMENT).unwrap();
    gate.write(file, &vec![b' '; most]).unwrap();
    assert_eq!(gate.read(file).unwrap().unwrap().len(), most);
    assert!(matches!(odd(gate.write(file, &vec![b' '; most + 1])), Some(Odd::TooLarge { .. })));
    fs::write(folder.path().join(file), vec![b' '; most + 1]).unwrap();
    assert!(matches!(odd(gate.read(file)), Some(Odd::TooLarge { .. })));
}

#[test]
fn a_file_keeps_its_permissions_and_leaves_nothing_beside_it() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let top = folder.path().join("garage");
    fs::create_dir(&top).unwrap();
    let gate = Gate::of_garage(&top).unwrap();
    let own = Rc::new(Gate::of_git(folder.path(), &gate).unwrap());
    let gate = gate.staged_in(&own);
    let file = Path::new("parts/p1.toml");
    gate.write(file, b"one").unwrap();
    fs::set_permissions(top.join(file), fs::Permissions::from_mode(0o640)).unwrap();
    gate.write(file, b"two").unwrap();
    let mode = fs::metadata(top.join(file)).unwrap().permissions().mode();
    assert_eq!((mode & 0o7777, fs::read(top.join(file)).unwrap()), (0o640, b"two".to_vec()));
    assert_eq!(fs::read_dir(top.join("parts")).unwrap().count(), 1);
    assert_eq!(fs::read_dir(folder.path().join("reedbook")).unwrap().count(), 0);
}
