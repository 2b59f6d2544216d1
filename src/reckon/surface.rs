//! The fitted surface of a mixture: how scores follow the shares.
