//! From a glass to the cellar: the largest batch of a ratio, and the transfers that make it.
