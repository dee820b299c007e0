//! PAGES -> PDF, streamed.
