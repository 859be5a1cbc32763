//! All integration tests in one binary: linking is the slow part on two cores.
