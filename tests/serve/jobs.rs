//! Several jobs of one server.
