//! Many at once: every writer's records are there, and every reader was answered.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;

use super::shed::{Shed, outing};
use super::{Kept, wanted};

const WRITERS: usize = 8;
const READERS: usize = 4;

pub(crate) fn tried() -> Vec<Kept> {
    let each = wanted("PROMISES_EACH", 5);
    let shed = Shed::new();
    let mut written = Kept::new("8 writers at once: every record is there, once");
    let mut read = Kept::new("4 readers beside them: every question is answered");
    let (over, answered) = (AtomicBool::new(false), AtomicUsize::new(0));
    let notes: Vec<String> =
        (0..WRITERS).flat_map(|who| (0..each).map(move |turn| format!("writer {who} {turn}"))).collect();
    let (refused, unanswered) = thread::scope(|scope| {
        let writers: Vec<_> = notes
            .chunks(each)
            .map(|mine| {
                scope
                    .spawn(|| mine.iter().filter_map(|note| failed(&shed, &outing(note))).collect::<Vec<_>>())
            })
            .collect();
        let readers: Vec<_> = (0..READERS)
            .map(|who| {
                let (shed, over, answered) = (&shed, &over, &answered);
                scope.spawn(move || {
                    let mut wrong = Vec::new();
                    while !over.load(Ordering::Relaxed) {
                        let words = [["outing", "list", "moth"], ["find", "--words", "writer"]][who % 2];
                        wrong.extend(failed(shed, &words.map(str::to_owned)));
                        answered.fetch_add(1, Ordering::Relaxed);
                    }
                    wrong
                })
            })
            .collect();
        let refused: Vec<String> = writers.into_iter().flat_map(|one| one.join().unwrap()).collect();
        over.store(true, Ordering::Relaxed);
        (refused, readers.into_iter().flat_map(|one| one.join().unwrap()).collect::<Vec<_>>())
    });
    written.tried = notes.len();
    written.broken.extend(refused);
    written.broken.extend(shed.holds(&notes).err());
    read.tried = answered.into_inner();
    read.broken.extend(unanswered);
    vec![written, read]
}

fn failed(shed: &Shed, words: &[String]) -> Option<String> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let done = shed.ask(&words);
    (!done.status.success()).then(|| format!("{words:?}: {}", String::from_utf8_lossy(&done.stderr)))
}
