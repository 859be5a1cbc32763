//! What long work reports its progress to; it decides nothing about how that looks.

/// What long work reports to.
pub trait Progress: Sync {
    /// A stretch of work of `total` steps begins.
    fn begin(&self, what: &str, total: u64);
    /// One step is done.
    fn step(&self);
    /// The stretch is done.
    fn end(&self);
}

/// Reports to nobody.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _what: &str, _total: u64) {}
    fn step(&self) {}
    fn end(&self) {}
}
