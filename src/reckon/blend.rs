//! What a blend of wines will be.
