//! The PIN, and the sessions that it opens.
//!
//! Digits that were typed come in; the token of a session goes out, or that they are wrong, or that there were too many tries.

use std::collections::HashMap;
use std::fmt;
use std::net::IpAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::{SignedDuration, Timestamp};

/// The digits that let a browser write.
#[derive(Clone, PartialEq, Eq)]
pub struct Pin(String);

/// How many digits a PIN has.
const PIN_DIGITS: usize = 6;

impl Pin {
    /// A new one by chance.
    ///
    /// # Errors
    /// When the system has no chance to give.
    pub fn by_chance() -> Result<Self, getrandom::Error> {
        // Of 2^64 values the first million is not favoured by more than one in ten thousand million.
        let number = getrandom::u64()? % 10_u64.pow(PIN_DIGITS as u32);
        Ok(Self(format!("{number:0PIN_DIGITS$}")))
    }

    /// One that was chosen: 4 to 12 digits.
    pub fn from_typed(typed: &str) -> Option<Self> {
        let digits: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
        let is_pin = (4..=12).contains(&digits.len()) && digits.chars().all(|c| c.is_ascii_digit());
        is_pin.then_some(Self(digits))
    }

    fn is(&self, typed: &str) -> bool {
        Self::from_typed(typed).is_some_and(|typed| typed == *self)
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Debug for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Pin(…)")
    }
}

/// Wrong PINs within [`MEMORY`] after which one address must wait.
const MOST_WRONG: usize = 5;
/// How long wrong PINs of one address are remembered.
const MEMORY: SignedDuration = SignedDuration::from_mins(10);
/// Wrong PINs within [`LONG_MEMORY`] after which all addresses must wait, this machine's own excepted: whoever has many addresses
/// would try half of all six-digit PINs in some three years.
const MOST_WRONG_OF_ALL: usize = 20;
/// How long wrong PINs of all addresses are remembered.
const LONG_MEMORY: SignedDuration = SignedDuration::from_hours(1);
/// How long a session lasts after its last use.
const LASTING: SignedDuration = SignedDuration::from_hours(24 * 30);
/// Most sessions at once; the one longest unused makes room.
const MOST_SESSIONS: usize = 1_000;

/// The sessions that the PIN has opened, and the wrong tries.
#[derive(Default)]
pub struct Sessions {
    open: Mutex<HashMap<String, Session>>,
    wrong: Mutex<Vec<(Option<IpAddr>, Timestamp)>>,
}

/// A session.
#[derive(Debug)]
pub(super) struct Session {
    used: Timestamp,
    /// What is to be told on its next page.
    pub(super) told: Vec<String>,
}

/// How a try to unlock ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unlocked {
    /// The token of a new session.
    Yes(String),
    /// The PIN is another.
    No,
    /// There were too many tries: so many minutes are left, begun ones counted.
    Wait(u32),
}

impl Sessions {
    pub(super) fn open(&self) -> MutexGuard<'_, HashMap<String, Session>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tries a PIN.
    ///
    /// # Errors
    /// When the system has no chance to give for a token.
    pub fn unlock(
        &self,
        pin: &Pin,
        typed: &str,
        from: Option<IpAddr>,
        now: Timestamp,
    ) -> Result<Unlocked, getrandom::Error> {
        let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        wrong.retain(|(_, at)| now.duration_since(*at) < LONG_MEMORY);
        let left = |at: Timestamp, memory: SignedDuration| memory - now.duration_since(at);
        // They stand in the order of their times: the one that must be forgotten first, for the next to be heard.
        let own = wrong.iter().rev().filter(|(address, at)| *address == from && left(*at, MEMORY).is_positive());
        let own = own.map(|(_, at)| left(*at, MEMORY)).nth(MOST_WRONG - 1);
        // Nobody in the network can keep out the person before this machine.
        let is_here = from.is_some_and(|from| from.is_loopback());
        let all = wrong.iter().rev().map(|(_, at)| left(*at, LONG_MEMORY)).nth(MOST_WRONG_OF_ALL - 1);
        if let Some(wait) = own.max(all.filter(|_| !is_here)) {
            return Ok(Unlocked::Wait(u32::try_from((wait.as_secs() + 59) / 60).unwrap_or(1).max(1)));
        }
        if !pin.is(typed) {
            wrong.push((from, now));
            return Ok(Unlocked::No);
        }
        wrong.retain(|(address, _)| *address != from);
        drop(wrong);
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes)?;
        let token: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let mut open = self.open();
        if open.len() >= MOST_SESSIONS
            && let Some(oldest) = open.iter().min_by_key(|(_, session)| session.used).map(|(token, _)| token.clone())
        {
            open.remove(&oldest);
        }
        open.insert(token.clone(), Session { used: now, told: Vec::new() });
        Ok(Unlocked::Yes(token))
    }

    /// Ends a session.
    pub fn lock(&self, token: &str) {
        self.open().remove(token);
    }

    /// Whether a session is open; it lasts on from now.
    pub fn is_open(&self, token: &str, now: Timestamp) -> bool {
        let mut open = self.open();
        open.retain(|_, session| now.duration_since(session.used) < LASTING);
        open.get_mut(token).map(|session| session.used = now).is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pin() -> Pin {
        Pin::from_typed("27 18 28").expect("six digits")
    }

    fn at(minutes: i64) -> Timestamp {
        Timestamp::UNIX_EPOCH + SignedDuration::from_mins(minutes)
    }

    fn tried(sessions: &Sessions, typed: &str, from: [u8; 4], minutes: i64) -> Unlocked {
        sessions.unlock(&pin(), typed, Some(from.into()), at(minutes)).expect("there is chance")
    }

    #[test]
    fn an_address_waits_and_is_heard_again() {
        let sessions = Sessions::default();
        for _ in 0..MOST_WRONG {
            assert_eq!(tried(&sessions, "1", [10, 0, 0, 1], 0), Unlocked::No);
        }
        assert_eq!(tried(&sessions, "271828", [10, 0, 0, 1], 9), Unlocked::Wait(1));
        assert_eq!(tried(&sessions, "271828", [10, 0, 0, 1], 2), Unlocked::Wait(8));
        assert!(matches!(tried(&sessions, "271828", [10, 0, 0, 2], 9), Unlocked::Yes(_)));
        assert!(matches!(tried(&sessions, "271828", [10, 0, 0, 1], 10), Unlocked::Yes(_)));
    }

    #[test]
    fn many_addresses_wait_together_and_this_machine_does_not() {
        let sessions = Sessions::default();
        for from in 0..u8::try_from(MOST_WRONG_OF_ALL).expect("few") {
            assert_eq!(tried(&sessions, "1", [10, 0, 0, from], 0), Unlocked::No);
        }
        assert_eq!(tried(&sessions, "271828", [10, 0, 1, 1], 59), Unlocked::Wait(1));
        assert!(matches!(tried(&sessions, "271828", [127, 0, 0, 1], 59), Unlocked::Yes(_)));
        assert!(matches!(tried(&sessions, "271828", [10, 0, 1, 1], 60), Unlocked::Yes(_)));
    }

    #[test]
    fn a_session_ends_when_it_is_locked_or_long_unused() {
        let sessions = Sessions::default();
        let Unlocked::Yes(token) = tried(&sessions, "271828", [10, 0, 0, 1], 0) else { panic!("it is the PIN") };
        let days = |days: i64| at(days * 24 * 60);
        assert!(sessions.is_open(&token, days(29)) && sessions.is_open(&token, days(58)));
        assert!(!sessions.is_open("", days(58)) && !sessions.is_open(&token[1..], days(58)));
        assert!(!sessions.is_open(&token, days(88)));
        let Unlocked::Yes(token) = tried(&sessions, "271828", [10, 0, 0, 1], 0) else { panic!("it is the PIN") };
        sessions.lock(&token);
        assert!(!sessions.is_open(&token, at(1)));
    }

    #[test]
    fn no_more_sessions_than_are_kept() {
        let sessions = Sessions::default();
        let first = tried(&sessions, "271828", [10, 0, 0, 1], 0);
        for minute in 1..=i64::try_from(MOST_SESSIONS).expect("few") {
            tried(&sessions, "271828", [10, 0, 0, 1], minute);
        }
        let Unlocked::Yes(first) = first else { panic!("it is the PIN") };
        assert_eq!(sessions.open().len(), MOST_SESSIONS);
        assert!(!sessions.is_open(&first, at(1)));
    }
}
