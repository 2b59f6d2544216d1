//! Tastings whose results are known from elsewhere.

use super::{FACTORS, Factor, Observation};

/// Twelve sittings of four lots, fourteen barrels of four coopers and two toasts, made up: sitting, lot, barrel, filling, cooper, toast, score.
const SCORES: &str = "0 0 3 0 0 1 12|0 0 4 1 1 0 11.5|0 0 6 2 3 1 12|0 0 9 3 0 1 11|0 0 11 4 1 0 12|0 0 12 5 3 1 11.5|1 0 1 6 3 1 14.5|\
     1 0 3 0 0 1 15.5|1 0 4 1 1 0 15|1 0 6 2 3 1 13.5|1 0 9 3 0 1 13.5|1 0 11 4 1 0 14.5|1 0 12 5 3 1 15|2 0 1 6 3 1 13|\
     2 0 3 0 0 1 13.5|2 0 4 1 1 0 15|2 0 6 2 3 1 12.5|2 0 9 3 0 1 12|2 0 11 4 1 0 14|2 0 12 5 3 1 13|3 1 2 7 0 0 13|\
     3 1 6 8 3 1 14|3 1 8 9 0 0 14.5|4 1 0 10 2 1 16|4 1 2 7 0 0 12|4 1 5 11 2 0 15.5|4 1 6 8 3 1 14|4 1 8 9 0 0 14|\
     4 1 10 12 1 0 14.5|4 1 13 13 1 1 13.5|5 1 0 10 2 1 16|5 1 2 7 0 0 13.5|5 1 5 11 2 0 14.5|5 1 6 8 3 1 15|\
     5 1 8 9 0 0 14.5|5 1 10 12 1 0 15|5 1 13 13 1 1 13|6 2 0 14 2 1 17.5|6 2 2 15 0 0 14.5|6 2 5 16 2 0 15.5|\
     6 2 8 17 0 0 14.5|6 2 10 18 1 0 14.5|6 2 12 19 3 1 13.5|7 2 0 14 2 1 17|7 2 2 15 0 0 14.5|7 2 5 16 2 0 15|\
     7 2 8 17 0 0 15.5|7 2 9 20 0 1 15|7 2 10 18 1 0 15.5|7 2 12 19 3 1 14.5|8 2 0 14 2 1 17.5|8 2 2 15 0 0 15.5|\
     8 2 8 17 0 0 17.5|8 2 10 18 1 0 14.5|9 3 0 21 2 1 15|9 3 5 22 2 0 14|9 3 8 23 0 0 13.5|9 3 9 24 0 1 14|\
     9 3 10 25 1 0 13|10 3 0 21 2 1 14.5|10 3 5 22 2 0 14.5|10 3 7 26 1 0 13.5|10 3 8 23 0 0 13.5|10 3 9 24 0 1 13.5|\
     10 3 10 25 1 0 13|10 3 12 27 3 1 13|11 3 0 21 2 1 14.5|11 3 5 22 2 0 14.5|11 3 7 26 1 0 15.5|11 3 8 23 0 0 14.5|\
     11 3 9 24 0 1 13|11 3 10 25 1 0 13";

/// The scores.
pub(super) fn scores() -> Vec<Observation> {
    let read = |line: &str| {
        let figures: Vec<&str> = line.split(' ').collect();
        let number = |place: usize| figures[place].parse().unwrap();
        let mut levels = [0; FACTORS];
        (levels[Factor::Cooper.place()], levels[Factor::Toast.place()]) = (number(4), number(5));
        let value = figures[6].parse().unwrap();
        Observation { value, sitting: number(0), lot: number(1), barrel: number(2), filling: number(3), levels }
    };
    SCORES.split('|').map(read).collect()
}

/// The split plots of oats of Yates (1935), a line a block, of each of three varieties the yields with four doses of nitrogen. A block stands for a
/// sitting, a plot for a barrel, its variety for the cooper, the dose for the toast.
const OATS: &str = "111 130 157 174 117 114 161 141 105 140 118 156
61 91 97 100 70 108 126 149 96 124 121 144
68 64 112 86 60 102 89 96 89 129 132 124
74 89 81 122 64 103 132 133 70 89 104 117
62 90 100 116 80 82 94 126 63 70 109 99
53 74 118 113 89 82 86 104 97 99 119 121";

/// The oats.
pub(super) fn oats() -> Vec<Observation> {
    let mut oats = Vec::new();
    for (block, line) in OATS.lines().enumerate() {
        for (place, value) in line.split(' ').enumerate() {
            let mut levels = [0; FACTORS];
            (levels[Factor::Cooper.place()], levels[Factor::Toast.place()]) = (place / 4, place % 4);
            let plot = block * 3 + place / 4;
            let value = value.parse().unwrap();
            oats.push(Observation { value, sitting: block, lot: block, barrel: plot, filling: plot, levels });
        }
    }
    oats
}
