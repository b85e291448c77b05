//! Work that is done before anybody asks for it: on one thread, once more where it was asked for meanwhile.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use crate::acts::now::now;
use crate::acts::rejet::{InAir, rejet};
use crate::machine::Moment;
use crate::store::Garage;

/// Whether it is wanted, and whether somebody is at it.
#[derive(Debug, Default)]
pub(super) struct Ahead {
    wanted: AtomicBool,
    running: AtomicBool,
}

/// Who is at it; who is stopped half-way is at it no more.
struct AtIt<'a>(&'a Ahead);

impl Drop for AtIt<'_> {
    fn drop(&mut self) {
        self.0.running.store(false, Ordering::SeqCst);
    }
}

impl Ahead {
    /// Whether somebody is at it.
    pub(super) fn is_busy(&self) -> bool {
        self.running.load(Ordering::SeqCst)
    }

    /// Has it done; where it is being done, it is done once more after that, however often it was asked for.
    pub(super) fn ask(self: &Arc<Self>, work: impl Fn() + Send + 'static) {
        self.wanted.store(true, Ordering::SeqCst);
        if self.running.swap(true, Ordering::SeqCst) {
            return;
        }
        let ahead = Arc::clone(self);
        let begun = thread::Builder::new().spawn(move || {
            loop {
                let at_it = AtIt(&ahead);
                while ahead.wanted.swap(false, Ordering::SeqCst) {
                    work();
                }
                drop(at_it);
                // Who asked between the two found somebody at it.
                let is_wanted = ahead.wanted.load(Ordering::SeqCst);
                if !is_wanted || ahead.running.swap(true, Ordering::SeqCst) {
                    break;
                }
            }
        });
        // A machine without room for a thread lets the first to ask wait.
        if begun.is_err() {
            self.running.store(false, Ordering::SeqCst);
        }
    }
}

/// Reads what every page reads, so that the first to ask does not wait for that. What cannot be read is said by its page.
pub(super) fn read_ahead(root: &Path) {
    if let (Ok(garage), Ok(moment)) = (Garage::open(root), Moment::of_the_machine()) {
        let _ = now(&garage, None, moment.now, |_, _| Ok(()));
    }
}

/// Reads every bike's notes and weighs its record in the air of the day, so that the first to ask does not wait for that. What cannot
/// be answered is said by its page.
pub(super) fn weigh_ahead(root: &Path) {
    read_ahead(root);
    let (Ok(garage), Ok(moment)) = (Garage::open(root), Moment::of_the_machine()) else { return };
    for bike in garage.bikes() {
        let of_the_day = InAir { typed: None, place: None, is_right: &|_| false, drawn: false };
        let _ = rejet(&garage, &bike, &of_the_day, (moment.now, garage.units()), |_| Ok(()));
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::{Receiver, Sender, channel};
    use std::sync::{Arc, Mutex};
    use std::thread::yield_now;
    use std::time::Duration;

    use super::Ahead;

    const LONG: Duration = Duration::from_secs(60);

    /// Work that says that it began, and goes on when it is told to.
    fn ask(ahead: &Arc<Ahead>, begins: &Sender<()>, goes: &Arc<Mutex<Receiver<()>>>) {
        let (begins, goes) = (begins.clone(), Arc::clone(goes));
        ahead.ask(move || {
            begins.send(()).unwrap();
            goes.lock().unwrap().recv().unwrap();
        });
    }

    fn until_done(ahead: &Ahead) {
        while ahead.is_busy() {
            yield_now();
        }
    }

    #[test]
    fn however_often_it_is_asked_for_it_is_done_once_more_and_by_one_thread() {
        let ahead: Arc<Ahead> = Arc::default();
        let (begins, began) = channel();
        let (go, goes) = channel();
        let goes = Arc::new(Mutex::new(goes));
        ask(&ahead, &begins, &goes);
        assert_eq!(began.recv_timeout(LONG), Ok(()));
        for _ in 0..20 {
            ask(&ahead, &begins, &goes);
        }
        // It waits to be told to go on: another thread would have begun too.
        assert!(began.recv_timeout(Duration::from_millis(200)).is_err(), "two are at it");
        go.send(()).unwrap();
        assert_eq!(began.recv_timeout(LONG), Ok(()), "what was asked for meanwhile is left undone");
        go.send(()).unwrap();
        until_done(&ahead);
        assert!(began.try_recv().is_err(), "it is done for each that asked");
        ask(&ahead, &begins, &goes);
        assert_eq!(began.recv_timeout(LONG), Ok(()), "whoever asks later is forgotten");
        go.send(()).unwrap();
    }

    #[test]
    fn work_that_fails_once_is_done_again() {
        let ahead: Arc<Ahead> = Arc::default();
        ahead.ask(|| panic!("as it should"));
        until_done(&ahead);
        let (done, is_done) = channel();
        ahead.ask(move || done.send(()).unwrap());
        assert_eq!(is_done.recv_timeout(LONG), Ok(()));
    }
}
