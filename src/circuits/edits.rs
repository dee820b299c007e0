//! What somebody decided of ends beside their rows: it comes in once every action is settled by rows, rules and connectors.csv, counts
//! above all of these, and stands with what they say, so that both can be told.

use jiff::Timestamp;

use super::{Action, Circuit, Decided, End};

/// One thing that was decided of an end, beside its row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// The circuit and the end, by their indices in [`super::Circuits`].
    pub at: (usize, usize),
    /// The number of the decision.
    pub number: u32,
    /// When it was made.
    pub when: Timestamp,
    /// What it says.
    pub says: Says,
}

/// What an edit says of its end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Says {
    /// What shall be done with it.
    Action(Action),
    /// Its remark; empty where the list's shall not count.
    Note(String),
}

/// What was decided of an end, where the lists say something else.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edited {
    /// Of its action.
    pub action: Option<Instead<(Action, Decided)>>,
    /// Of its note.
    pub note: Option<Instead<Option<String>>>,
}

/// Where something was decided otherwise than the lists say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instead<T> {
    /// The number of the decision.
    pub number: u32,
    /// When it was made.
    pub when: Timestamp,
    /// What the lists say: of an action also who says so.
    pub listed: T,
}

impl<T> Instead<T> {
    /// The day on which it was decided: `2026-11-28`.
    pub fn day(&self) -> String {
        self.when.strftime("%Y-%m-%d").to_string()
    }
}

impl Instead<(Action, Decided)> {
    /// `a decision of 2026-11-28; the list says keep`.
    pub fn in_words(&self) -> String {
        let (action, by) = &self.listed;
        let by = match by {
            Decided::Rule(number) => format!("rule {} of job.toml says {action}", number + 1),
            Decided::Connector => format!("connectors.csv says {action}"),
            Decided::List => format!("its [[list]] in job.toml says {action}"),
            Decided::Nobody => "the list says nothing".to_owned(),
            Decided::Row | Decided::Person => format!("the list says {action}"),
        };
        format!("a decision of {}; {by}", self.day())
    }
}

impl End {
    /// The action that was decided beside the lists, where they say another.
    pub fn decided_instead(&self) -> Option<&Instead<(Action, Decided)>> {
        self.edited.as_deref()?.action.as_ref()
    }

    /// The note that was written beside the lists, where they have another.
    pub fn noted_instead(&self) -> Option<&Instead<Option<String>>> {
        self.edited.as_deref()?.note.as_ref()
    }

    /// Who decides its action as far as lists and rules go.
    pub fn decided_in_lists(&self) -> Decided {
        self.decided_instead().map_or(self.decided, |instead| instead.listed.1)
    }

    /// The note of its row, whatever was written beside it.
    pub fn note_in_lists(&self) -> Option<&str> {
        self.noted_instead().map_or(self.note.as_deref(), |instead| instead.listed.as_deref())
    }
}

/// Lets edits count, in their order. One that says what the lists say leaves the end as it is; one of no end is passed over.
pub(super) fn apply(circuits: &mut [Circuit], edits: Vec<Edit>) {
    for Edit { at: (circuit, end), number, when, says } in edits {
        let Some(circuit) = circuits.get_mut(circuit).filter(|circuit| end < circuit.ends().len()) else { continue };
        circuit.edit(end, |end| match says {
            Says::Action(action) if action != end.action => {
                let listed = (std::mem::replace(&mut end.action, action), end.decided);
                end.decided = Decided::Person;
                end.is_marked_undecided = end.action == Action::Undecided;
                end.edited.get_or_insert_default().action = Some(Instead { number, when, listed });
            }
            Says::Note(note) => {
                let note = Some(note).filter(|note| !note.is_empty());
                if note != end.note {
                    let listed = std::mem::replace(&mut end.note, note);
                    end.edited.get_or_insert_default().note = Some(Instead { number, when, listed });
                }
            }
            Says::Action(_) => {}
        });
    }
}
