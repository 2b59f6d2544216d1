//! Difference tests: triangle, duo-trio, paired comparison.
