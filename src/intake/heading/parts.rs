//! Units, references, periods and funnels stated in a heading.
