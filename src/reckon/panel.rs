//! What a panel's ranks and scores say, and what they can't.
