//! Designs of glasses: which mixtures to taste.
