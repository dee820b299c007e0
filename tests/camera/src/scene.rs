//! The printed surface, flat or round a wire, as a ray from the lens meets it. Lengths in mm.
//!
//! The tag's own axes: x along the rows of the symbol, y down them, z towards the lens; the middle of the symbol is the origin. A
//! wire lies along x.

use crate::chance::Chance;
use crate::print::Printed;
use crate::{Conditions, Ground, PIXELS_ACROSS};

type Vector = [f64; 3];

pub struct Scene<'a> {
    printed: &'a Printed,
    shape: Shape,
    /// Rows: the tag's axes as the lens has them.
    axes: [Vector; 3],
    /// Where the lens is, in the tag's axes.
    lens: Vector,
    /// Distance of the lens in pixels of the picture.
    focal_pixels: f64,
    /// Pixels a mm at the tag.
    pub pixels_a_mm: f64,
    pub distance: f64,
    /// Pixels of the cut.
    pub width: usize,
    pub height: usize,
    /// Where the middle of the symbol lies in the cut, pixels.
    middle: [f64; 2],
    light: Light,
    paper: f64,
    ink: f64,
    wire: f64,
    bench: f64,
    bench_waves: [f64; 4],
}

enum Shape {
    Flat,
    Round {
        /// Of the sleeve.
        radius: f64,
        /// Of the bare wire at its ends.
        wire: f64,
    },
}

struct Light {
    /// Towards the lamp.
    lamp: Vector,
    /// Halfway between lamp and lens: where gloss is worst.
    halfway: Vector,
    ambient: f64,
    gloss: f64,
}

/// What a ray meets.
struct Met {
    reflectance: f64,
    normal: Vector,
}

/// Seen beyond the quiet zone, mm.
const SURROUNDINGS: f64 = 2.0;

/// Standard deviation of the angle, in radians, over which gloss spreads: satin, as tube and film are (from memory).
const GLOSS_WIDTH: f64 = 0.2;

/// Wall of a sleeve, mm: the bare wire is thinner by it on each side.
const WALL: f64 = 0.5;

impl<'a> Scene<'a> {
    pub fn arrange(printed: &'a Printed, ground: Ground, conditions: &Conditions, chance: &mut Chance) -> Self {
        let distance = chance.within(conditions.distance);
        let focal_pixels = PIXELS_ACROSS / chance.within(conditions.field);
        let pixels_a_mm = focal_pixels / distance;
        let quarter = (chance.bits() % 4) as f64 * 90.0;
        let roll = (quarter + chance.within(conditions.roll)).to_radians();
        let tilt = chance.within(conditions.tilt).to_radians();
        let towards = chance.within((0.0, std::f64::consts::TAU));
        let axes = axes(roll, tilt, towards);
        let lens = axes.map(|axis| axis[2] * distance);
        let shape = match ground {
            Ground::Flat => Shape::Flat,
            Ground::Round { diameter } => {
                let radius = diameter / 2.0;
                Shape::Round { radius, wire: (radius - WALL).max(radius * 0.6) }
            }
        };

        // The cut: a box round the turned symbol.
        let half = [0, 1].map(|picture_axis: usize| {
            let extent = |side: usize| (axes[side][picture_axis] * printed.symbol[side] / 2.0).abs();
            (extent(0) + extent(1) + SURROUNDINGS) * pixels_a_mm
        });
        let middle = half.map(|half| half + chance.share());
        let [width, height] = half.map(|half| (half * 2.0) as usize + 1);

        let lamp_angle = chance.within(conditions.lamp).to_radians();
        let lamp_towards = chance.within((0.0, std::f64::consts::TAU));
        let (sin, cos) = lamp_angle.sin_cos();
        let lamp_seen = [sin * lamp_towards.cos(), sin * lamp_towards.sin(), cos];
        let lamp = axes.map(|axis| dot(axis, lamp_seen));
        let halfway = unit([0, 1, 2].map(|side| lamp[side] + axes[side][2]));
        Self {
            printed,
            shape,
            axes,
            lens,
            focal_pixels,
            pixels_a_mm,
            distance,
            width,
            height,
            middle,
            light: Light {
                lamp,
                halfway,
                ambient: chance.within(conditions.ambient),
                gloss: chance.within(conditions.gloss),
            },
            paper: chance.within(conditions.paper),
            ink: chance.within(conditions.ink),
            wire: chance.within((0.05, 0.6)),
            bench: chance.within((0.1, 0.6)),
            bench_waves: std::array::from_fn(|_| chance.within((0.2, 1.2))),
        }
    }

    /// Light that comes back from where this pixel looks; 1 is from a perfectly white sheet that faces lamp and lens.
    pub fn light_at(&self, x: f64, y: f64) -> f64 {
        let seen = [(x - self.middle[0]) / self.focal_pixels, (y - self.middle[1]) / self.focal_pixels, -1.0];
        let ray = self.axes.map(|axis| dot(axis, seen));
        match self.meet(ray) {
            Some(met) => self.light.from(&met),
            None => self.bench_at(x / self.pixels_a_mm, y / self.pixels_a_mm),
        }
    }

    /// The lightest that any part of the tag is.
    pub fn white(&self) -> f64 {
        self.light.from(&Met { reflectance: self.paper, normal: self.light.lamp })
    }

    fn meet(&self, ray: Vector) -> Option<Met> {
        match self.shape {
            Shape::Flat => {
                let way = -self.lens[2] / ray[2];
                let (x, y) = (self.lens[0] + way * ray[0], self.lens[1] + way * ray[1]);
                self.print_at(x, y).map(|reflectance| Met { reflectance, normal: [0.0, 0.0, 1.0] })
            }
            Shape::Round { radius, wire } => {
                let sleeve = self.meet_round(ray, radius, radius).and_then(|(x, angle)| {
                    let reflectance = self.print_at(x, angle * radius);
                    let dots = x / self.printed.dot[0] + self.printed.middle[0];
                    let is_sleeve = (0.0..self.printed.across as f64).contains(&dots);
                    is_sleeve.then(|| Met { reflectance: reflectance.unwrap_or(self.paper), normal: round(angle) })
                });
                let bare = || {
                    let (_, angle) = self.meet_round(ray, wire, radius)?;
                    Some(Met { reflectance: self.wire, normal: round(angle) })
                };
                sleeve.or_else(bare)
            }
        }
    }

    /// Where a ray meets a cylinder along x whose axis lies `depth` below the origin: x and the angle from the top.
    fn meet_round(&self, ray: Vector, radius: f64, depth: f64) -> Option<(f64, f64)> {
        let (y, z) = (self.lens[1], self.lens[2] + depth);
        let square = ray[1] * ray[1] + ray[2] * ray[2];
        let mixed = y * ray[1] + z * ray[2];
        let root = mixed * mixed - square * (y * y + z * z - radius * radius);
        if root < 0.0 {
            return None;
        }
        let way = (-mixed - root.sqrt()) / square;
        let (y, z) = (y + way * ray[1], z + way * ray[2]);
        Some((self.lens[0] + way * ray[0], y.atan2(z)))
    }

    /// Reflectance of the printed piece at this place; `None` beyond its edges.
    fn print_at(&self, x: f64, y: f64) -> Option<f64> {
        let across = x / self.printed.dot[0] + self.printed.middle[0];
        let down = y / self.printed.dot[1] + self.printed.middle[1];
        let is_on = across >= 0.0 && down >= 0.0;
        let (across, down) = (across as usize, down as usize);
        (is_on && across < self.printed.across && down < self.printed.down).then(|| {
            let cover = f64::from(self.printed.cover[down * self.printed.across + across]);
            self.paper + (self.ink - self.paper) * cover
        })
    }

    /// A bench with some pattern, out of focus.
    fn bench_at(&self, x: f64, y: f64) -> f64 {
        let [a, b, c, d] = self.bench_waves;
        self.bench * (1.0 + 0.2 * (a * x + b * y).sin() * (c * x - d * y).cos())
    }
}

impl Light {
    /// Matt surface (Lambert) with a satin gloss over it.
    fn from(&self, met: &Met) -> f64 {
        let facing = dot(met.normal, self.lamp).max(0.0);
        // The square of a small angle; a bell that needs no power of e, for this is asked at every pixel.
        let off = (1.0 - dot(met.normal, self.halfway)) * 2.0 / (GLOSS_WIDTH * GLOSS_WIDTH);
        let gloss = self.gloss / (1.0 + off / 4.0).powi(4);
        met.reflectance * (self.ambient + (1.0 - self.ambient) * facing) + gloss
    }
}

/// The tag's axes as the lens has them (x right, y down, z towards the lens): turned by `roll` in the picture, then its
/// normal leant by `tilt` in the direction `towards`.
fn axes(roll: f64, tilt: f64, towards: f64) -> [Vector; 3] {
    let (sin, cos) = tilt.sin_cos();
    let (across, along) = (towards.cos(), towards.sin());
    // Turning about the line in the picture that is square to `towards` (Rodrigues).
    let lean = |[x, y, z]: Vector| {
        let part = x * across + y * along;
        let (rest_x, rest_y) = (x - part * across, y - part * along);
        let new_part = part * cos + z * sin;
        [rest_x + new_part * across, rest_y + new_part * along, z * cos - part * sin]
    };
    let (roll_sin, roll_cos) = roll.sin_cos();
    [lean([roll_cos, roll_sin, 0.0]), lean([-roll_sin, roll_cos, 0.0]), lean([0.0, 0.0, 1.0])]
}

fn round(angle: f64) -> Vector {
    let (sin, cos) = angle.sin_cos();
    [0.0, sin, cos]
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn unit(vector: Vector) -> Vector {
    let length = dot(vector, vector).sqrt();
    vector.map(|part| part / length)
}
