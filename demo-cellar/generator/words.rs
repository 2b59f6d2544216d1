//! What people of the estate write about a glass, a barrel, a reason. Two or three phrases make a note.

/// The nose, red.
pub const RED_NOSE: [&str; 30] = [
    "plum, a little closed",
    "blackcurrant, very clear",
    "black cherry and cedar",
    "red fruit, still fermenty",
    "violets on top",
    "dark fruit, shy today",
    "sloe and wet stone",
    "ripe but not cooked",
    "cassis leaf, not unpleasant",
    "a touch of struck match",
    "reduced at first, opens in the glass",
    "graphite and blackberry",
    "fresh tobacco",
    "smoke from the toast, too loud still",
    "vanilla before fruit",
    "clove and plum skin",
    "pepper and blueberry",
    "sour cherry, lively",
    "cocoa, warm",
    "clean, quiet",
    "bay leaf and bramble",
    "liquorice, dark",
    "a bit lactic still",
    "raspberry, simple",
    "cold tea and cherries",
    "ink and iron",
    "coffee from the heads",
    "fruit has come forward",
    "dull next to its neighbour",
    "the best nose of the row",
];

/// The palate, red.
pub const RED_PALATE: [&str; 30] = [
    "green edge gone, tannin still square",
    "tannin fine, long",
    "middle a bit hollow",
    "good grip, needs months",
    "acid stands out",
    "rounder than last time",
    "drying at the end",
    "sweet core",
    "wood and wine not married yet",
    "wood well folded in",
    "short",
    "chewy, honest",
    "supple already",
    "bitter almond at the very end",
    "dense, closes up",
    "light frame, pretty",
    "salty finish, good sign",
    "firm, no hurry",
    "a hot finish",
    "more length than in spring",
    "tannin grainy on the gums",
    "juicy",
    "a little tired",
    "lean but straight",
    "broad shoulders",
    "clean finish",
    "still some gas",
    "coarse, rack before judging again",
    "silky in the middle",
    "exactly as it should be",
];

/// White and rosé, nose and palate.
pub const PALE_NOSE: [&str; 12] = [
    "pear and hazelnut",
    "lemon peel, bright",
    "bread crust from the lees",
    "white peach",
    "a little struck match, nice",
    "apple, closed",
    "chamomile",
    "wild strawberry",
    "grapefruit pith",
    "fresh butter, not too much",
    "quince",
    "wet chalk",
];
pub const PALE_PALATE: [&str; 12] = [
    "tight, good acid",
    "lees give it body",
    "a touch broad",
    "long and saline",
    "wood shows",
    "stir again next week",
    "crisp, dry end",
    "round, keep it full",
    "still a prickle",
    "clean as a whistle",
    "slightly phenolic",
    "very even over the row",
];

/// What to do, or nothing.
pub const AFTERTHOUGHT: [&str; 16] = [
    "first wine",
    "first wine if it keeps on",
    "second wine",
    "watch it",
    "taste again in a month",
    "leave it alone",
    "good for the middle of the blend",
    "rack soon",
    "send a sample",
    "compare with the barrel beside it",
    "keep for the bench",
    "needs air",
    "needs topping more than praise",
    "new wood suits it",
    "older wood next time",
    "ask the others",
];

pub const GOOD_MARKS: [&str; 6] = ["long", "fine tannin", "pure", "deep", "first wine", "fresh"];
pub const PLAIN_MARKS: [&str; 6] = ["closed", "woody", "green", "square", "simple", "lactic"];
pub const BAD_MARKS: [&str; 5] = ["reduced", "volatile", "drying", "hollow", "bitter"];

pub const HOLD_REASONS: [&str; 6] = [
    "smells of nail varnish, sample sent",
    "heavy reduction, wait for a second opinion",
    "mouse on the finish? taste again",
    "horsey, keep the hose away until the lab has called",
    "film on the surface",
    "bung found out, may have taken air",
];
pub const FREE_REASONS: [&str; 5] = [
    "lab says clean",
    "gone after a week, tasted by two",
    "it was the glass",
    "volatile acidity within the house's limit",
    "reduction blown off",
];

pub const THIRST: [&str; 7] = [
    "drinks more than its neighbours",
    "weeps at the head, rubbed with wax",
    "damp ring at the croze",
    "hoops driven, look again next round",
    "wet stave low on the left",
    "thirsty again",
    "dark streak down the head",
];

/// What is written about rooms and tanks on quiet days.
pub const ROOM_NOTES: [(&str, &str); 14] = [
    ("long", "door left open over lunch, two degrees up"),
    ("long", "sprinkled the floor, humidity 58 before, 66 after"),
    ("long", "bulb gone over row C"),
    ("cave", "water on the floor by E, pump out"),
    ("cave", "humidity 91, mould on the bungs wiped"),
    ("vault", "new rack shims under G-02"),
    ("T8", "blanketed with argon"),
    ("T7", "lid seal changed"),
    ("long", "ladder rung loose, taken out of use"),
    ("K1", "tap dripped, gasket changed"),
    ("long", "fan off for the night, quiet again"),
    ("cave", "visitors until noon, round starts late"),
    ("T8", "smells clean, topped the gas"),
    ("vault", "swept and limed"),
];
