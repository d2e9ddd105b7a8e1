//! Undo and redo: procedures as they were, each with the name of the change.

use crate::procedure::Procedure;

/// How many changes can be taken back.
const DEPTH: usize = 500;

/// The procedures before and after the one in use.
#[derive(Default)]
pub struct History {
    past: Vec<(String, Procedure)>,
    future: Vec<(String, Procedure)>,
}

impl History {
    /// Notes the procedure as it was before a change.
    pub fn push(&mut self, name: impl Into<String>, before: Procedure) {
        if self.past.len() == DEPTH {
            self.past.remove(0);
        }
        self.past.push((name.into(), before));
        self.future.clear();
    }

    /// Takes the last change back; hands out the procedure before it.
    pub fn undo(&mut self, now: &Procedure) -> Option<Procedure> {
        let (name, before) = self.past.pop()?;
        self.future.push((name, now.clone()));
        Some(before)
    }

    /// Makes a change again that was taken back.
    pub fn redo(&mut self, now: &Procedure) -> Option<Procedure> {
        let (name, after) = self.future.pop()?;
        self.past.push((name, now.clone()));
        Some(after)
    }

    /// What undo would take back.
    pub fn undo_name(&self) -> Option<&str> {
        self.past.last().map(|(name, _)| name.as_str())
    }

    /// What redo would make again.
    pub fn redo_name(&self) -> Option<&str> {
        self.future.last().map(|(name, _)| name.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::Choice;
    use crate::steps;

    #[test]
    fn a_hundred_changes_come_back_one_by_one_and_go_forward_again() {
        let mut history = History::default();
        let mut now = Procedure::default();
        let mut seen = Vec::new();
        for _ in 0..100 {
            history.push("add a step", now.clone());
            seen.push(now.clone());
            now.steps.push(Choice::of(steps::ALL[0]));
        }
        let full = now.clone();
        for before in seen.iter().rev() {
            now = history.undo(&now).unwrap();
            assert!(now == *before);
        }
        assert!(history.undo(&now).is_none());
        while let Some(next) = history.redo(&now) {
            now = next;
        }
        assert!(now == full);
    }
}
