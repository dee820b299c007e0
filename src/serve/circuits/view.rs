//! What is looked at: a query comes in, the filter, order and page that it asks for go out, and back into links.

use axum::extract::Query;
use axum::http::Uri;

use crate::base::{ConnectorId, Step};
use crate::circuits::{Action, Supply};
use crate::run::planning::{Filter, Order};
use crate::serve::address::query;
use crate::serve::fields::Fields;

/// How a supply that nobody knows is asked for.
pub const NO_SUPPLY: &str = "unknown";

/// What is looked at.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// Which ends.
    pub filter: Filter,
    /// In which order.
    pub order: Order,
    /// Which page of them, from 1.
    pub page: usize,
    /// What was asked and cannot be understood, in words.
    pub passed_over: Vec<String>,
}

/// What stands in a query, without its question mark.
pub fn fields(query: &str) -> Fields {
    let uri = format!("/?{}", query.trim_start_matches('?')).parse::<Uri>().ok();
    let query = uri.and_then(|uri| Query::<Fields>::try_from_uri(&uri).ok());
    query.map(|Query(fields)| fields).unwrap_or_default()
}

impl View {
    /// What a query asks for.
    pub fn of(fields: &Fields) -> Self {
        let mut passed_over = Vec::new();
        let mut known = |name: &'static str, is_known: bool| {
            if let Some(value) = fields.given(name).filter(|_| !is_known) {
                passed_over.push(format!("`{name}` cannot be `{value}`: it is passed over"));
            }
        };
        let action = fields.given("action");
        let action = action.and_then(|typed| Action::WORDS.into_iter().find(|word| *word == typed));
        known("action", action.is_some());
        let supply = fields.given("supply").and_then(|typed| match typed {
            NO_SUPPLY => Some(None),
            typed => Supply::ALL.into_iter().find(|supply| supply.word() == typed).map(Some),
        });
        known("supply", supply.is_some());
        let left = fields.given("left").and_then(Step::from_word);
        known("left", left.is_some());
        let order = fields.given("sort").and_then(Order::from_word);
        known("sort", order.is_some());
        let page = fields.given("page").and_then(|page| page.parse().ok()).unwrap_or(1).max(1);
        let filter = Filter {
            words: fields.given("q").unwrap_or_default().to_owned(),
            connector: fields.given("connector").and_then(ConnectorId::from_cell),
            branch: fields.given("branch").map(str::to_owned),
            action,
            supply,
            left,
            is_stale: fields.given("stale").is_some(),
            is_otherwise: fields.given("otherwise").is_some(),
        };
        Self { filter, order: order.unwrap_or_default(), page, passed_over }
    }

    /// The names and values that ask for it.
    pub fn pairs(&self) -> Vec<(&'static str, String)> {
        let Filter { words, connector, branch, action, supply, left, is_stale, is_otherwise } = &self.filter;
        let yes = |is_it: bool| is_it.then(|| "1".to_owned());
        let all = [
            ("q", Some(words.clone()).filter(|words| !words.is_empty())),
            ("connector", connector.as_ref().map(ToString::to_string)),
            ("branch", branch.clone()),
            ("action", action.map(str::to_owned)),
            ("supply", supply.map(|supply| supply.map_or(NO_SUPPLY, Supply::word).to_owned())),
            ("left", left.map(|step| step.word().to_owned())),
            ("stale", yes(*is_stale)),
            ("otherwise", yes(*is_otherwise)),
            ("sort", Some(self.order.word().to_owned()).filter(|_| self.order != Order::default())),
            ("page", Some(self.page.to_string()).filter(|_| self.page > 1)),
        ];
        all.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }

    /// The query that asks for it, with its question mark; empty where nothing is asked.
    pub fn query(&self) -> String {
        let query = query(self.pairs().iter().map(|(name, value)| (*name, value.as_str())));
        if query.is_empty() { query } else { format!("?{query}") }
    }

    /// The same ends in another order, from the first page.
    pub fn sorted(&self, order: Order) -> Self {
        Self { order, page: 1, ..self.clone() }
    }

    /// The same, another page.
    pub fn at_page(&self, page: usize) -> Self {
        Self { page, ..self.clone() }
    }

    /// These ends alone, in the same order.
    pub fn with(&self, filter: Filter) -> Self {
        Self { filter, order: self.order, ..Self::default() }
    }

    /// Whether all ends are looked at.
    pub fn is_of_all(&self) -> bool {
        self.filter == Filter::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_is_told_by_its_query() {
        let asked =
            "?q=rail+%C3%BC&connector=J1&branch=cab%2Fdash&action=cut&supply=unknown&left=cut&stale=1&sort=code&page=3";
        let view = View::of(&fields(asked));
        assert_eq!(view.filter.words, "rail ü");
        assert_eq!(view.filter.branch.as_deref(), Some("cab/dash"));
        assert_eq!((view.filter.supply, view.page, view.order), (Some(None), 3, Order::Code));
        let again = View::of(&fields(&view.query()));
        assert_eq!((again.filter, again.page), (view.filter, 3));
        let odd = View::of(&fields("action=cutt&sort=&page=0&left=nothing"));
        assert!(odd.is_of_all() && odd.page == 1);
        assert_eq!(odd.passed_over.len(), 2);
        assert_eq!(View::default().sorted(Order::Place).query(), "?page=0".replace("?page=0", ""));
    }
}
