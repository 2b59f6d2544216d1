//! Who tastes which glass when: codes, flights and orders.
