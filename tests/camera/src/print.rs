//! Modules to ink on dots.

use crate::chance::Chance;
use crate::{Conditions, Ground, Symbol};

/// A printed piece, dot by dot.
pub struct Printed {
    /// Dots a row.
    pub across: usize,
    /// Rows of dots.
    pub down: usize,
    /// Share of each dot's area that is covered with ink.
    pub cover: Vec<f32>,
    /// Size of a dot on the finished tag along the rows and across them, mm.
    pub dot: [f64; 2],
    /// Size of the symbol on the finished tag, mm.
    pub symbol: [f64; 2],
    /// Middle of the symbol, in dots.
    pub middle: [f64; 2],
}

/// Blank beyond the quiet zone on the left and above, mm.
const MARGIN: f64 = 0.5;

/// Width of the words on the right and height of those below, mm. Letters are a grid of such cells, 5 wide and 7 high.
const WORDS: f64 = 4.0;
const LETTER_CELL: f64 = 0.3;

pub fn print(symbol: &Symbol, ground: Ground, conditions: &Conditions, chance: &mut Chance) -> Printed {
    let pitch = symbol.module / symbol.module_dots;
    // Round the wire a module is stretched, to whole dots as the sleeve's layout does, and shrinks by a little more or less.
    let (round_dots, dot) = match ground {
        Ground::Flat => (symbol.module_dots, [pitch, pitch]),
        Ground::Round { .. } => {
            let shrink = chance.within(conditions.shrink);
            let stretched = symbol.module_dots / shrink;
            let is_whole = symbol.module_dots.fract() == 0.0;
            let along = pitch * chance.within(conditions.length_change);
            let round = pitch * shrink * chance.within(conditions.shrink_error);
            (if is_whole { stretched.round() } else { stretched }, [along, round])
        }
    };
    let below = if ground == Ground::Flat { WORDS } else { MARGIN };
    let along = Side::of(symbol.columns, symbol.module_dots, symbol.quiet, [MARGIN / dot[0], WORDS / dot[0]]);
    let round = Side::of(symbol.rows, round_dots, symbol.quiet, [MARGIN / dot[1], below / dot[1]]);

    let (across, down) = (along.modules.len(), round.modules.len());
    let mut is_dark = vec![false; across * down];
    for (y, row) in round.modules.iter().enumerate() {
        for (x, column) in along.modules.iter().enumerate() {
            if let (Some(row), Some(column)) = (row, column) {
                is_dark[y * across + x] = symbol.dark[row * symbol.columns + column];
            }
        }
    }
    let below_from = if ground == Ground::Flat { round.words_from } else { down };
    words(&mut is_dark, [across, down], dot, [along.words_from, below_from], chance);
    Printed {
        across,
        down,
        cover: ink(&is_dark, across, pitch, conditions, chance),
        dot,
        symbol: [symbol.columns as f64 * symbol.module_dots * dot[0], symbol.rows as f64 * round_dots * dot[1]],
        middle: [along.middle, round.middle],
    }
}

/// Dots along one side of the piece.
struct Side {
    /// The column or row of modules that each dot draws.
    modules: Vec<Option<usize>>,
    /// Middle of the symbol.
    middle: f64,
    /// Where the quiet zone after it ends.
    words_from: usize,
}

impl Side {
    fn of(modules: usize, module_dots: f64, quiet: usize, [before, after]: [f64; 2]) -> Self {
        let quiet = quiet as f64 * module_dots;
        let start = (before + quiet).round();
        let end = start + modules as f64 * module_dots;
        let module = |dot: usize| {
            let module = (dot as f64 + 0.5 - start) / module_dots;
            (module >= 0.0 && module < modules as f64).then_some(module as usize)
        };
        Self {
            modules: (0..(end + quiet + after) as usize).map(module).collect(),
            middle: (start + end) / 2.0,
            words_from: (end + quiet).ceil() as usize,
        }
    }
}

/// Something like letters to the right of the quiet zone, and below it: the decoder must not take them for a symbol.
fn words(
    is_dark: &mut [bool],
    [across, down]: [usize; 2],
    dot: [f64; 2],
    [from_x, from_y]: [usize; 2],
    chance: &mut Chance,
) {
    let cell = dot.map(|dot| ((LETTER_CELL / dot).round() as usize).max(1));
    let salt = chance.bits();
    for y in cell[1]..down.saturating_sub(cell[1]) {
        for x in cell[0]..across.saturating_sub(cell[0]) {
            let (row, column) = (y / cell[1], x / cell[0]);
            let is_letter = row % 10 < 7 && column % 7 < 5;
            if is_letter && (x >= from_x || y >= from_y) {
                let mut of_cell = Chance::new(salt ^ ((row as u64) << 32 | column as u64));
                is_dark[y * across + x] = of_cell.share() < 0.45;
            }
        }
    }
}

/// How much of each dot is covered. An edge that goes over by part of a dot is a dot covered in part: both are finer than any
/// blur to come.
fn ink(is_dark: &[bool], across: usize, pitch: f64, conditions: &Conditions, chance: &mut Chance) -> Vec<f32> {
    let gain = chance.within(conditions.gain) / pitch;
    let ragged = chance.within(conditions.ragged) / pitch;
    let lost = chance.within(conditions.lost_dots);
    let at = |place: Option<usize>| place.and_then(|place| is_dark.get(place)).copied().unwrap_or(false);
    (0..is_dark.len())
        .map(|place| {
            let neighbours = [place.checked_sub(1), Some(place + 1), place.checked_sub(across), Some(place + across)];
            let mut cover = f64::from(u8::from(is_dark[place]));
            for neighbour in neighbours {
                if at(neighbour) != is_dark[place] {
                    let moved = gain + ragged * chance.normal();
                    cover += if is_dark[place] { moved.min(0.0) } else { moved.max(0.0) };
                }
            }
            if chance.share() < lost { 0.0 } else { cover.clamp(0.0, 1.0) as f32 }
        })
        .collect()
}
