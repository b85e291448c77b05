//! How often one address may ask, and how often it may guess.

use std::collections::HashMap;
use std::net::IpAddr;
use std::time::Duration;

/// Requests that an address may make at once, and how many a second it gets back (common practice, no source): a page is two requests, a
/// hurried thumb makes three pages a second.
const AT_ONCE: f64 = 80.0;
const EACH_SECOND: f64 = 10.0;
/// Wrong keys that an address may type before it waits.
const FREE: u32 = 5;
/// Wrong keys of all addresses before everybody who is not in waits: a team mistypes less in a day.
const FREE_OF_ALL: u32 = 40;
/// The first wait; each wrong key after it doubles the next one.
const FIRST_WAIT: Duration = Duration::from_secs(30);
const LONGEST_WAIT: Duration = Duration::from_secs(900);
/// After so long without a wrong key they are forgotten.
const FORGOTTEN: Duration = Duration::from_secs(3_600);
/// Addresses that are remembered: more than any network of a team has.
const REMEMBERED: usize = 1_000;

/// What is remembered of who asks; times are by a clock that nobody sets.
#[derive(Debug, Default)]
pub(super) struct Pace {
    asked: HashMap<IpAddr, Bucket>,
    guessed: HashMap<IpAddr, Wrong>,
    guessed_by_all: Wrong,
}

#[derive(Debug, Clone, Copy)]
struct Bucket {
    left: f64,
    at: Duration,
}

#[derive(Debug, Clone, Copy, Default)]
struct Wrong {
    times: u32,
    last: Duration,
    until: Duration,
}

impl Wrong {
    fn once_more(&mut self, free: u32, now: Duration) {
        if now.saturating_sub(self.last) > FORGOTTEN {
            self.times = 0;
        }
        self.times = self.times.saturating_add(1);
        self.last = now;
        if let Some(beyond) = self.times.checked_sub(free) {
            let wait = FIRST_WAIT.saturating_mul(2_u32.saturating_pow(beyond.min(16)));
            self.until = now + wait.min(LONGEST_WAIT);
        }
    }

    fn wait(&self, now: Duration) -> Option<Duration> {
        self.until.checked_sub(now).filter(|wait| !wait.is_zero())
    }
}

impl Pace {
    /// Whether an address may ask now.
    pub(super) fn may_ask(&mut self, from: IpAddr, now: Duration) -> bool {
        make_room(&mut self.asked, from, |bucket| bucket.at);
        let bucket = self.asked.entry(from).or_insert(Bucket { left: AT_ONCE, at: now });
        let since = now.saturating_sub(bucket.at).as_secs_f64();
        *bucket = Bucket { left: (bucket.left + EACH_SECOND * since).min(AT_ONCE), at: now };
        if bucket.left < 1.0 {
            return false;
        }
        bucket.left -= 1.0;
        true
    }

    /// How long an address must wait before it may type a key; none where it may now. Who sits at the laptop does not wait for others.
    pub(super) fn wait(&self, from: IpAddr, now: Duration) -> Option<Duration> {
        let own = self.guessed.get(&from).and_then(|wrong| wrong.wait(now));
        let of_all = if from.is_loopback() { None } else { self.guessed_by_all.wait(now) };
        own.max(of_all)
    }

    /// A wrong key.
    pub(super) fn wrong(&mut self, from: IpAddr, now: Duration) {
        make_room(&mut self.guessed, from, |wrong| wrong.last);
        self.guessed.entry(from).or_default().once_more(FREE, now);
        if !from.is_loopback() {
            self.guessed_by_all.once_more(FREE_OF_ALL, now);
        }
    }

    /// The right one.
    pub(super) fn right(&mut self, from: IpAddr) {
        self.guessed.remove(&from);
    }
}

/// Forgets the one that was longest silent where there is no room for a new one.
fn make_room<T>(known: &mut HashMap<IpAddr, T>, new: IpAddr, last: impl Fn(&T) -> Duration) {
    if known.len() < REMEMBERED || known.contains_key(&new) {
        return;
    }
    let oldest = known.iter().min_by_key(|(_, one)| last(one)).map(|(address, _)| *address);
    oldest.map(|address| known.remove(&address));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(number: u32) -> IpAddr {
        IpAddr::from((0x0a00_0000 + number).to_be_bytes())
    }

    #[test]
    fn a_hurried_thumb_is_served_and_a_flood_is_not() {
        let mut pace = Pace::default();
        let at = Duration::from_secs(10);
        assert!((0..80).all(|_| pace.may_ask(address(1), at)));
        assert!(!pace.may_ask(address(1), at));
        assert!(pace.may_ask(address(2), at), "another address has its own");
        assert!(pace.may_ask(address(1), at + Duration::from_millis(150)));
        for number in 0..5_000 {
            pace.may_ask(address(number), at);
        }
        assert!(pace.asked.len() <= REMEMBERED);
    }

    #[test]
    fn a_thousand_guesses_of_one_address_take_days() {
        let mut pace = Pace::default();
        let (mut now, mut tried) = (Duration::from_secs(1), 0);
        while tried < 1_000 {
            now += pace.wait(address(1), now).unwrap_or_default();
            pace.wrong(address(1), now);
            tried += 1;
        }
        assert!(now > Duration::from_secs(9 * 24 * 3_600), "{now:?}");
    }

    #[test]
    fn many_addresses_wait_for_each_other_but_the_laptop_does_not() {
        let mut pace = Pace::default();
        let now = Duration::from_secs(1);
        for number in 0..40 {
            assert_eq!(pace.wait(address(number), now), None, "{number}");
            pace.wrong(address(number), now);
        }
        assert_eq!(pace.wait(address(99), now), Some(FIRST_WAIT));
        assert_eq!(pace.wait(IpAddr::from([127, 0, 0, 1]), now), None);
        assert_eq!(pace.wait(address(99), now + FIRST_WAIT), None);
    }

    #[test]
    fn the_right_key_forgives_and_an_hour_forgets() {
        let mut pace = Pace::default();
        let now = Duration::from_secs(1);
        (0..5).for_each(|_| pace.wrong(address(1), now));
        assert_eq!(pace.wait(address(1), now), Some(FIRST_WAIT));
        pace.right(address(1));
        assert_eq!(pace.wait(address(1), now), None);
        (0..7).for_each(|_| pace.wrong(address(1), now));
        let later = now + FORGOTTEN + LONGEST_WAIT;
        pace.wrong(address(1), later);
        assert_eq!(pace.wait(address(1), later), None);
    }
}
