//! Headspace: what a barrel lacks now, before its bung is pulled, and how sure that is.
//!
//! What follows can be done with a pencil. Days are counted, litres are litres, and every constant stands with its source in
//! the file that uses it; where there is no source it says "our assumption".
//!
//! # What a barrel loses
//!
//! A barrel's level was known (it was filled, topped to the brim or gauged) at day a. At day b it has lost
//!
//! ```text
//!     L = f s X(a, b) + S g(a, b) − c + s w
//!
//!     s     its surface against a 225 L barrel's: (capacity / 225)^(2/3)                               climate.rs
//!     X     what the room drew from a 225 L barrel of the usual thirst, litres                         room.rs
//!     f     its own thirst against its neighbours', 1 in the mean                                      barrel.rs
//!     S g   what its wood drank: S in all, of it the share g = e^(−(a−filled)/20) − e^(−(b−filled)/20)  soak.rs
//!     c     the carry: what was poured too much the last time is there still                           noise.rs
//!     w     the tide: by how much all barrels of the room are emptier than at mean warmth              room.rs
//! ```
//!
//! What is missing is L and what the book knows of already, at least nothing and at most the barrel. Who tops it pours
//!
//! ```text
//!     y = L + e + v
//!
//!     e     how far the opening strayed (the level jumps, wine swells, the hand stops late): it is the next carry
//!     v     how far the can was misread: gone for good
//! ```
//!
//! Wine that was poured is in the barrel, so all of e is found again. Its variance is k (0.06² + 0.025 L) + 0.015²: a part
//! that is there after a day as after a month, and one that grows with what was lost. k is the room's own scale, 1 at first.
//! That of v is 0.02².
//!
//! # The room
//!
//! A room draws, at day t, q (1 + α cos ωt + β sin ωt) litres a day with ω = 2π / 365.25, so between a and b
//!
//! ```text
//!     X = q [ (b − a) + α (sin ωb − sin ωa)/ω + β (cos ωa − cos ωb)/ω ]
//! ```
//!
//! ln q is at first that of the published figures: 58 mL a day for each kilopascal by which the vapour over wine exceeds
//! that of the air, or 20 mL a day where the air is not known; α and β are nothing. Their standard deviations are 0.5 (0.7
//! where the air is not known), 0.25 and 0.25. Every topping in the room moves all three. With what was found beyond what
//! was expected, ν = y − L, its variance V, the slopes of X h = (X, q (sin ωb − sin ωa)/ω, q (cos ωa − cos ωb)/ω), and
//! the covariance P of the three, that is one step of an extended Kalman filter (Kalman 1960, Trans. ASME 82):
//!
//! ```text
//!     P grows by 0.06²/21 for each day (ln q) and by 0.05²/365 (α, β)
//!     (ln q, α, β) grows by P h f s ν / V        P falls by (P h f s)(P h f s)ᵀ / V
//! ```
//!
//! Where ln q would grow by z, it is q that grows by the part z, and where it would fall by z, q is divided by 1 + z: a
//! first surprise would be overdone else.
//!
//! A round on a warm day finds every barrel fuller. The tide w is 0 ± 0.04 L at first; each topping moves it by s var w · ν / V
//! and its variance falls by (s var w)² / V. It stays what it was when the last barrel was opened, but its variance grows
//! by 0.04² a day to no more than that: within a round neighbours tell of each other, the next round tells anew. What level
//! and tide have in common is left out.
//!
//! A surprise beyond 2.5 deviations moves the room no further than 2.5 do (Huber 1964, Ann. Math. Stat. 35). The scale k is
//! multiplied by 1 + w (ν²/V − 1), where w is one in the number of toppings so far and 30, at most 300 in all.
//!
//! # The barrel
//!
//! Before its first topping f is 1 ± 0.25, c is 0 ± 0.25 s (the filling), S is (4 ± 1.2) s litres in new wood and (0.4 ± 0.3) s
//! in wood that has held wine. With H = (s X, −1, g), C the covariance of (f, c, S), and
//!
//! ```text
//!     V = H C Hᵀ + f² s² var X + (0.3 S g)² + E + var v        E = var e + s² var w
//! ```
//!
//! a topping's surprise ν does this: f and S grow by (C H) ν / V, the new carry is s w + E ν / V, and C falls in the same
//! way. The square root of V is the deviation that is shown: of what will be poured, not only of what is truly missing.
//! f's variance grows by 0.1² a year; a surprise beyond 3.5 deviations counts as one whose variance puts it there. Carried to
//! another room, what the old room drew stays in X. Emptied and filled again the barrel keeps f, less surely.
//!
//! By way of example: a used 225 L barrel lies in a room that draws 50 mL a day for sure, its tide 0 for sure; its f is 1 ±
//! 0.2, its last carry 0 ± 0.05 L. After 20 days L = 1.0. var e = 0.06² + 0.025 + 0.015² = 0.0288 and var v = 0.0004; V = 0.2² ·
//! 1.0² + 0.05² + 0.0288 + 0.0004 = 0.0717, deviation 0.27. It takes 1.3 L: ν = 0.3. f grows by 0.04 · 0.3 / 0.0717 = 0.17; the
//! new carry is 0.0288 · 0.3 / 0.0717 = 0.12 L: that much less is expected the next time.
//!
//! # Leaks
//!
//! Had a barrel begun to drink twice what it should, the next surprise would be larger by s₁ = f s X. The barrel takes a part
//! of that for thirst and most of it for a carry, so the surprise after that would be larger by s₂ = s₁' + E s₁ / V less what the
//! factor has taken, and so on: what one topping leaves wrong the next puts right, and the sum of two says more than each. With
//! the sums over the toppings since (a generalised likelihood ratio, Willsky and Jones 1976, IEEE Trans. Autom. Control 21)
//!
//! ```text
//!     A = Σ s ν / V        B = Σ s² / V        excess = A / B        certainty = A / √B
//! ```
//!
//! a barrel is said to leak when it drinks at least three tenths too much and that lies 2.85 deviations above nothing, after
//! two toppings at the earliest. Two beginnings are kept: the last interval, and of those before the one for which A − B/2,
//! the log-likelihood ratio of a doubling, is largest; below nothing it is forgotten. A leak is said since the beginning of its interval. f is then believed
//! only to ± 1, what the leak has added to the carry is taken off, and f follows what it drinks now. A cumulative sum for
//! what it drank before (Page 1954, Biometrika 41), at 4, or less than 1.4 times what it should, ends it.
//!
//! # What can be known of a leak
//!
//! One who knows the room, the tide and the noise for sure, and has only f and c to learn, is told by two toppings of a doubling
//! whose s stand d = √(s₁²/V₁ + s₂²/V₂) deviations out. No test with one false alarm in two hundred barrels a round finds
//! more than Φ(d − 2.33) of such leaks within two rounds (Neyman and Pearson 1933), 2.33 being the quantile of 1 − 2/200: nine
//! in ten ask for d = 3.6. Where all but a little of the error is carried, s₂ is nearly 2 s₁ and d nearly √5 s₁ / √V: below
//! s₁ = 1.6 √V no test finds nine in ten. At a usual hand's √V of 0.1 L for small losses that is 0.16 L in a round from a
//! barrel whose thirst is known; with only eight toppings behind it, about 2.7 √V or 0.27 L. The simulated rooms in
//! `tests/headspace` reckon that bound for each of them. Where it is 0.95 or more, the estimate finds nine in ten but in a
//! room of twelve barrels (83 in 100); where it is 0.73 to 0.90, seven to nine tenths of it.
//!
//! # What it does not know
//!
//! That evaporation itself begins slowly in new wood; the weather to come; how warm the next round will be; two leaks at once in a room of three.
//!
//! **The headspace estimate** is two small filters: a room's level, season and tide (four numbers), a barrel's factor, carry and soak-in
//! (three numbers); a topping moves both, in constant time, and everything it remembers stands in `Room::rate` and `Vessel::thirst`.
//! Equations, constants and a worked example: the text of `reckon::headspace`. Their correlations with each other, and the tide's with the
//! level, are left out: that is what makes a fact cost under a microsecond, and the bands are right all the same.

mod barrel;
mod climate;
mod estimate;
mod leak;
mod matrix;
mod noise;
mod room;
mod soak;

pub use barrel::{Loss, Thirst};
pub use climate::{Climate, PUBLISHED_RATE, size, vapour_deficit};
pub use estimate::{Basis, Estimate};
pub use leak::Leak;
pub use room::{Drawn, RoomRate};
pub use soak::Wall;
