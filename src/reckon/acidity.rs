//! The acids of a wine and its pH by charge balance.
