//! Blur, light, noise: what the sensor makes of the scene.

use crate::chance::Chance;
use crate::scene::Scene;
use crate::{Conditions, Picture};

/// Gray values before they are rounded, row by row.
struct Image {
    width: usize,
    height: usize,
    light: Vec<f32>,
}

pub fn expose(scene: &Scene, conditions: &Conditions, chance: &mut Chance) -> Picture {
    let image = Image::of(scene);
    let focus_error = chance.within(conditions.focus_error);
    let disc = conditions.opening * focus_error / scene.distance * scene.pixels_a_mm;
    let motion = chance.within(conditions.motion) * scene.pixels_a_mm;
    let motion_towards = chance.within((0.0, std::f64::consts::TAU));
    let softness = chance.within(conditions.softness);
    let image = image.out_of_focus(disc / 2.0).moved(motion, motion_towards).softened(softness);
    let lit = Lit::draw(scene, conditions, chance);
    let white = 1.0 / scene.white();
    let exposure = chance.within(conditions.exposure);
    let noise = chance.within(conditions.noise);
    let tones = tones();
    let mut luma = Vec::with_capacity(image.light.len());
    for y in 0..image.height {
        for x in 0..image.width {
            let light = f64::from(image.light[y * image.width + x]) * white * lit.at(x as f64, y as f64);
            let light = light * exposure + chance.normal() * noise * exposure * (0.25 + 0.75 * light.max(0.0)).sqrt();
            luma.push(tones[(light.clamp(0.0, 1.0) * LAST_TONE) as usize]);
        }
    }
    Picture { width: image.width, height: image.height, luma }
}

/// Steps of light that are told apart: fine enough for the darkest bytes.
const LAST_TONE: f64 = 16383.0;

/// Byte of a picture for each step of light (the power 1/2.2, near enough to sRGB).
fn tones() -> Vec<u8> {
    (0..=LAST_TONE as usize).map(|step| ((step as f64 / LAST_TONE).powf(1.0 / 2.2) * 255.0).round() as u8).collect()
}

/// Light that is not even over the tag: 1 at its brightest.
struct Lit {
    slope: [f64; 2],
    start: f64,
    shadow: f64,
    shadow_edge: [f64; 3],
}

impl Lit {
    fn draw(scene: &Scene, conditions: &Conditions, chance: &mut Chance) -> Self {
        let any = (0.0, std::f64::consts::TAU);
        let pixels = scene.pixels_a_mm;
        let slope = chance.within(conditions.gradient) / (10.0 * pixels);
        let towards = chance.within(any);
        let slope = [slope * towards.cos(), slope * towards.sin()];
        let (width, height) = (scene.width as f64, scene.height as f64);
        let edge = chance.within(any);
        // A shadow's edge is some mm wide, for lamps are.
        let width_of_edge = chance.within((0.5, 3.0)) * pixels;
        let (a, b) = (edge.cos() / width_of_edge, edge.sin() / width_of_edge);
        let through = [chance.share() * width, chance.share() * height];
        Self {
            slope,
            start: 1.0 - (slope[0].max(0.0) * width + slope[1].max(0.0) * height),
            shadow: chance.within(conditions.shadow),
            shadow_edge: [a, b, -(a * through[0] + b * through[1])],
        }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let slope = (self.start + self.slope[0] * x + self.slope[1] * y).max(0.1);
        let within = self.shadow_edge[0] * x + self.shadow_edge[1] * y + self.shadow_edge[2];
        slope * (1.0 - self.shadow * (within + 0.5).clamp(0.0, 1.0))
    }
}

impl Image {
    /// Two looks a pixel: a dot is two pixels and more, and blur comes after.
    fn of(scene: &Scene) -> Self {
        let mut light = Vec::with_capacity(scene.width * scene.height);
        for y in 0..scene.height {
            for x in 0..scene.width {
                let (x, y) = (x as f64, y as f64);
                let sum = scene.light_at(x + 0.25, y + 0.25) + scene.light_at(x + 0.75, y + 0.75);
                light.push((sum / 2.0) as f32);
            }
        }
        Self { width: scene.width, height: scene.height, light }
    }

    /// Each point becomes an even disc, as a round lens out of focus makes it. A disc is a stack of rows; sums along each row make
    /// a row of any length as cheap.
    fn out_of_focus(&self, radius: f64) -> Self {
        if radius < 0.5 {
            return Self { light: self.light.clone(), ..*self };
        }
        let (width, height) = (self.width, self.height);
        let reach = radius.floor() as i64;
        // Each row goes on beyond its ends, so far that every sum stays within it.
        let beyond = reach as usize + 2;
        let padded = width + 2 * beyond;
        let mut rows = Vec::with_capacity(padded * height);
        let mut sums = Vec::with_capacity(padded * height);
        for row in self.light.chunks_exact(width) {
            let start = rows.len();
            rows.resize(start + beyond, row[0]);
            rows.extend_from_slice(row);
            rows.resize(start + padded, row[width - 1]);
            let mut sum = 0.0f32;
            for light in &rows[start..] {
                sums.push(sum);
                sum += light;
            }
        }
        // The sum up to a place within a pixel is the sum before it and a part of its own light.
        let place = |x: f64| ((x.floor() + beyond as f64) as usize, x.fract().rem_euclid(1.0) as f32);
        let mut light = vec![0.0f32; width * height];
        let mut area = 0.0;
        for dy in -reach..=reach {
            let half = (radius * radius - (dy * dy) as f64).sqrt();
            area += 2.0 * half;
            let (left, left_part) = place(0.5 - half);
            let (right, right_part) = place(0.5 + half);
            for y in 0..height {
                let from = (y as i64 + dy).clamp(0, height as i64 - 1) as usize * padded;
                let row = |start: usize| &rows[from + start..from + start + width];
                let sum = |start: usize| &sums[from + start..from + start + width];
                let upto = sum(right).iter().zip(row(right)).map(|(sum, light)| sum + light * right_part);
                let before = sum(left).iter().zip(row(left)).map(|(sum, light)| sum + light * left_part);
                let target = &mut light[y * width..(y + 1) * width];
                for (target, (upto, before)) in target.iter_mut().zip(upto.zip(before)) {
                    *target += upto - before;
                }
            }
        }
        let share = 1.0 / area as f32;
        for value in &mut light {
            *value *= share;
        }
        Self { light, ..*self }
    }

    /// The picture spread along a line of this length.
    fn moved(&self, length: f64, towards: f64) -> Self {
        let steps = length.round() as i64;
        if steps < 1 {
            return Self { light: self.light.clone(), ..*self };
        }
        let (width, height) = (self.width as i64, self.height as i64);
        let mut light = vec![0.0f32; self.light.len()];
        for step in 0..=steps {
            let way = length * (step as f64 / steps as f64 - 0.5);
            let (dx, dy) = ((way * towards.cos()).round() as i64, (way * towards.sin()).round() as i64);
            for y in 0..height {
                let from = ((y + dy).clamp(0, height - 1) * width) as usize;
                let row = &self.light[from..from + width as usize];
                let target = &mut light[(y * width) as usize..((y + 1) * width) as usize];
                for (x, target) in target.iter_mut().enumerate() {
                    *target += row[(x as i64 + dx).clamp(0, width - 1) as usize];
                }
            }
        }
        let share = 1.0 / (steps + 1) as f32;
        for value in &mut light {
            *value *= share;
        }
        Self { light, ..*self }
    }

    /// A bell-shaped blur of this standard deviation in pixels.
    fn softened(&self, deviation: f64) -> Self {
        let reach = (deviation * 3.0).ceil() as i64;
        let bell = |at: i64| (-((at * at) as f64) / (2.0 * deviation * deviation)).exp() as f32;
        let total: f32 = (-reach..=reach).map(bell).sum();
        let weights: Vec<(i64, f32)> = (-reach..=reach).map(|at| (at, bell(at) / total)).collect();
        let (width, height) = (self.width as i64, self.height as i64);
        let mut across = vec![0.0f32; self.light.len()];
        let mut both = vec![0.0f32; self.light.len()];
        for y in 0..self.height {
            let row = &self.light[y * self.width..(y + 1) * self.width];
            for x in 0..width {
                across[y * self.width + x as usize] =
                    weights.iter().map(|(at, weight)| row[(x + at).clamp(0, width - 1) as usize] * weight).sum();
            }
        }
        for y in 0..height {
            for (at, weight) in &weights {
                let from = ((y + at).clamp(0, height - 1) * width) as usize;
                let target = &mut both[(y * width) as usize..((y + 1) * width) as usize];
                for (target, source) in target.iter_mut().zip(&across[from..from + width as usize]) {
                    *target += source * weight;
                }
            }
        }
        Self { light: both, ..*self }
    }
}
