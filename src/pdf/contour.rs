//! The dark modules of a symbol as closed outlines: one path without seams between modules.
//!
//! In come the modules of a grid; out go closed loops over the grid's corners, which run clockwise round dark regions (y
//! grows down) and anticlockwise round the light holes in them, so that both fill rules paint the dark modules.

use crate::layout::Modules;

/// A corner of the grid: columns from the left, rows from the top.
pub type Corner = (u16, u16);

/// The outlines of all dark regions, each a loop that is closed from its last corner to its first. Modules that touch at
/// a corner only belong to two regions.
pub fn contours(modules: &Modules) -> Vec<Vec<Corner>> {
    let (columns, rows) = (modules.columns, modules.rows);
    let dark = |column: i32, row: i32| match (u16::try_from(column), u16::try_from(row)) {
        (Ok(column), Ok(row)) => modules.is_dark(column, row),
        _ => false,
    };
    // A loop takes every top edge of its region from left to right, so the unvisited top edges are all there is to start
    // from, and walking on from each visits its whole loop.
    let is_top = |column: i32, row: i32| dark(column, row) && !dark(column, row - 1);
    let mut visited = vec![false; usize::from(columns) * usize::from(rows)];
    let mut loops = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let here = usize::from(row) * usize::from(columns) + usize::from(column);
            if visited[here] || !is_top(column.into(), row.into()) {
                continue;
            }
            loops.push(walk(column, row, dark, |column, row| {
                visited[usize::from(row) * usize::from(columns) + usize::from(column)] = true;
            }));
        }
    }
    loops
}

/// Walks round the region with the dark side on the right hand, from the top left corner of a module whose top edge is
/// an outline, and tells `on_top_edge` of each module whose top edge it passes.
fn walk(column: u16, row: u16, dark: impl Fn(i32, i32) -> bool, mut on_top_edge: impl FnMut(u16, u16)) -> Vec<Corner> {
    let start = (i32::from(column), i32::from(row));
    let (mut x, mut y) = start;
    let (mut dx, mut dy) = (1, 0);
    let mut corners = Vec::new();
    loop {
        if (dx, dy) == (1, 0) {
            on_top_edge(x as u16, y as u16);
        }
        (x, y) = (x + dx, y + dy);
        // The two modules ahead of the corner that was reached: on the right hand and on the left hand.
        let (right, left) = match (dx, dy) {
            (1, 0) => (dark(x, y), dark(x, y - 1)),
            (0, 1) => (dark(x - 1, y), dark(x, y)),
            (-1, 0) => (dark(x - 1, y - 1), dark(x - 1, y)),
            _ => (dark(x, y - 1), dark(x - 1, y - 1)),
        };
        let (next_dx, next_dy) = match (right, left) {
            (false, _) => (-dy, dx),
            (true, false) => (dx, dy),
            (true, true) => (dy, -dx),
        };
        if (next_dx, next_dy) != (dx, dy) {
            corners.push((x as u16, y as u16));
        }
        (dx, dy) = (next_dx, next_dy);
        if (x, y) == start && (dx, dy) == (1, 0) {
            return corners;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grid(rows: &[&str]) -> Modules {
        Modules {
            columns: rows[0].len() as u16,
            rows: rows.len() as u16,
            dark: rows.iter().flat_map(|row| row.chars().map(|c| c == '#')).collect(),
        }
    }

    /// Winding number of the loops about the middle of a module, counted along a ray to the left.
    fn winding(loops: &[Vec<Corner>], column: u16, row: u16) -> i32 {
        let mut sum = 0;
        for corners in loops {
            for (i, &(x, y)) in corners.iter().enumerate() {
                let (next_x, next_y) = corners[(i + 1) % corners.len()];
                assert!((x == next_x) != (y == next_y), "edges are upright or level and not empty");
                if x == next_x && x <= column && y.min(next_y) <= row && row < y.max(next_y) {
                    sum += if next_y < y { 1 } else { -1 };
                }
            }
        }
        sum
    }

    #[test]
    fn a_ring_is_two_loops() {
        let loops = contours(&grid(&["###", "#.#", "###"]));
        assert_eq!(loops, [vec![(3, 0), (3, 3), (0, 3), (0, 0)], vec![(2, 2), (2, 1), (1, 1), (1, 2)]]);
    }

    #[test]
    fn nothing_dark_is_no_loop() {
        assert!(contours(&grid(&["..", ".."])).is_empty());
    }

    proptest! {
        #[test]
        fn both_fill_rules_paint_the_dark_modules(columns in 1u16..9, rows in 1u16..9, bits: u64) {
            let dark = (0..columns * rows).map(|i| bits >> (i % 64) & 1 == 1).collect();
            let modules = Modules { columns, rows, dark };
            let loops = contours(&modules);
            for row in 0..rows {
                for column in 0..columns {
                    prop_assert_eq!(winding(&loops, column, row), i32::from(modules.is_dark(column, row)));
                }
            }
        }
    }
}
