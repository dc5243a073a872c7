//! Choosing a style by what is needed.

use super::model::Suits;
use crate::units::Mass;

/// What somebody needs of a style.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Needs {
    /// Of this family.
    pub family: Option<String>,
    /// Held closed in one of these ways; any when empty.
    pub closing: Vec<String>,
    /// Closed without these.
    pub without: Vec<String>,
    /// Opens so.
    pub opening: Option<String>,
    /// Usual up to at least this mass.
    pub load: Option<Mass>,
    /// Used for all of these.
    pub uses: Vec<String>,
}

impl Needs {
    /// Whether nothing is asked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

impl Suits {
    /// What of the needs is not met, in words; empty when all is.
    #[must_use]
    pub fn misses(&self, needs: &Needs) -> Vec<String> {
        let mut misses = Vec::new();
        if let Some(f) = needs.family.as_ref().filter(|f| **f != self.family) {
            misses.push(format!("it is of the family {}, not {f}", self.family));
        }
        let wrong_way = !needs.closing.is_empty() && !needs.closing.contains(&self.closing);
        if wrong_way || needs.without.contains(&self.closing) {
            misses.push(format!("it is closed by {}", self.closing));
        }
        if needs.opening.as_ref().is_some_and(|o| *o != self.opening) {
            misses.push(if self.opening == "again" {
                "it opens again and again".to_owned()
            } else {
                "it is opened by cutting".to_owned()
            });
        }
        if needs.load.is_some_and(|l| self.load < l) {
            misses.push(format!("it is usual up to {} kg", self.load.to_kg()));
        }
        for u in needs.uses.iter().filter(|u| !self.uses.contains(u)) {
            misses.push(format!("it is not known for: {u}"));
        }
        misses
    }
}
