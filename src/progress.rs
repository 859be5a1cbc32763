//! What long work reports its progress to; it decides nothing about how that looks.

/// What long work reports to.
pub trait Progress: Sync {
    /// A stretch of work of `total` steps begins.
    fn begin(&self, what: &str, total: u64);
    /// That many more steps are done; called from several threads.
    fn advance(&self, steps: u64);
    /// The stretch is done.
    fn end(&self);
}

/// Reports to nobody.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _what: &str, _total: u64) {}
    fn advance(&self, _steps: u64) {}
    fn end(&self) {}
}
