//! Hostile cells stay text on every page.
