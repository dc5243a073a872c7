//! Layers of a pattern on a base, as high and heavy as the rules allow.

use serde::Serialize;

use super::pattern::{Ask, Pattern, Proof, Spot, Ways, Work, length, patterns, sound, whole};
use super::prove::Placed;
use super::stand::{Standing, standing};
use crate::diag::Diag;
use crate::units::{Length, Mass};

/// What a load stands on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Base {
    /// What to call it.
    pub name: String,
    /// Its length and width.
    pub plan: [Length; 2],
    /// Its own height.
    pub height: Length,
    /// Its own mass.
    pub mass: Mass,
    /// What it may bear; `None` where nothing is known.
    pub safe_load: Option<Mass>,
}

/// Which sides of a case may lie on the floor.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Down {
    /// Only its bottom: this way up.
    #[default]
    Bottom,
    /// Any of its six.
    Any,
}

/// A packed case as it is handled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Carton {
    /// Outside length, width and height.
    pub outside: [Length; 3],
    /// Mass with what is in it.
    pub mass: Mass,
    /// Which sides may be down.
    pub down: Down,
}

/// A way to stand a case: the sides on the floor and the one upright, as numbers into `outside`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Tip {
    /// The sides that lie on the floor.
    pub flat: [usize; 2],
    /// The side that stands.
    pub upright: usize,
}

impl Down {
    /// The ways to stand a case, its bottom down first.
    #[must_use]
    pub fn tips(self) -> Vec<Tip> {
        let all = [([0, 1], 2), ([0, 2], 1), ([1, 2], 0)];
        let each = all.into_iter().map(|(flat, upright)| Tip { flat, upright });
        each.take(if self == Self::Bottom { 1 } else { 3 })
            .collect()
    }
}

/// How layers lie on each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Arrangement {
    /// Every layer the same: corners over corners.
    Column,
    /// Every other layer turned or mirrored, so that cases bridge the joints below.
    Interlocked,
}

/// What a load may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// Greatest height over the ground, the base's counted in.
    pub height: Length,
    /// Greatest mass, the base's counted in; `None` for no such limit.
    pub mass: Option<Mass>,
    /// How far the load may reach past the base on each side along its length and width; below zero,
    /// how far it must stay inside.
    pub overhang: [Length; 2],
    /// Which arrangements are wanted.
    pub arrangements: Vec<Arrangement>,
    /// What the pattern may be.
    pub ways: Ways,
    /// Whether a limit of mass, or the number wanted, may leave the topmost layer part filled.
    pub part_layer: bool,
    /// The most cases wanted on one base; `None` for as many as go.
    pub wanted: Option<usize>,
    /// How much the search may do.
    pub work: Work,
}

impl Rules {
    /// Up to a height: no limit of mass but the base's, no overhang, both arrangements.
    #[must_use]
    pub fn up_to(height: Length) -> Self {
        Self {
            height,
            mass: None,
            overhang: [Length::ZERO; 2],
            arrangements: vec![Arrangement::Column, Arrangement::Interlocked],
            ways: Ways::Any,
            part_layer: false,
            wanted: None,
            work: Work::default(),
        }
    }
}

/// What keeps a load from being larger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Limit {
    /// Another layer would be too high.
    Height,
    /// More would be too heavy by the rules.
    Mass,
    /// More would be too heavy for the base.
    SafeLoad,
    /// No more were wanted.
    Wanted,
}

/// A load: equal layers on a base.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Load {
    /// What it stands on.
    pub base: Base,
    /// Outside size of a case as it stands: along its pattern's first and second side, and upright.
    pub case: [Length; 3],
    /// Which sides those are.
    pub tip: Tip,
    /// How the layers lie on each other.
    pub arrangement: Arrangement,
    /// The lowest layer and every other one: cases from the base's least corner, so negative where
    /// they overhang.
    pub layer: Vec<Spot>,
    /// The layers between; the same as `layer` in a column.
    pub between: Vec<Spot>,
    /// The topmost layer where it is part filled.
    pub top: Option<Vec<Spot>>,
    /// Cases in a full layer.
    pub per_layer: usize,
    /// No layer holds more than this.
    pub layer_bound: usize,
    /// Whether, and how, it is shown that no layer of the kind asked for holds more.
    pub proof: Proof,
    /// Layers, a part filled one counted in.
    pub layers: usize,
    /// Cases.
    pub count: usize,
    /// What keeps it from being larger.
    pub limit: Limit,
    /// Height over the ground, the base's counted in.
    pub height: Length,
    /// Mass of the cases.
    pub load_mass: Mass,
    /// Mass of cases and base.
    pub gross_mass: Mass,
    /// Area of a layer's cases over that of the base; above 1 with overhang.
    pub area_share: f64,
    /// Volume of the cases over that above the base up to the greatest height.
    pub volume_share: f64,
    /// Centre of mass of cases and base, from the base's least corner at the ground. Cases and base
    /// are taken as even inside.
    pub centre: [Length; 3],
    /// How far the lowest layers reach past the base: left, right, near, far. Below zero, how far
    /// they stay inside.
    pub overhang: [Length; 4],
    /// What a layer stands on; `None` for a single layer.
    pub standing: Option<Standing>,
    /// Blocks of the pattern.
    pub blocks: usize,
}

impl Load {
    /// The cases of a layer, counted from 0.
    #[must_use]
    pub fn layer_at(&self, n: usize) -> &[Spot] {
        match &self.top {
            Some(top) if n + 1 == self.layers => top,
            _ if n.is_multiple_of(2) => &self.layer,
            _ => &self.between,
        }
    }
    /// Bases needed for a number of cases.
    #[must_use]
    pub const fn bases_for(&self, cases: usize) -> usize {
        cases.div_ceil(if self.count == 0 { 1 } else { self.count })
    }
    /// The smallest rectangle that holds base and load, along x and y: what the load needs on a floor.
    #[must_use]
    pub fn footprint(&self) -> [Length; 2] {
        let [left, right, near, far] = self.overhang.map(|o| o.max(Length::ZERO));
        [
            self.base.plan[0] + left + right,
            self.base.plan[1] + near + far,
        ]
    }
}

/// The loads that the rules allow, most cases first: one for each arrangement asked for and each side
/// a case may stand on. Empty when not one case goes. An interlocked load is given only where it
/// differs from a column.
///
/// # Errors
/// A size or mass that cannot be.
pub fn loads(base: &Base, carton: &Carton, rules: &Rules) -> Result<Vec<Load>, Diag> {
    check(base, carton, rules)?;
    let mut out = Vec::new();
    for tip in carton.down.tips() {
        let sides = [tip.flat[0], tip.flat[1], tip.upright].map(|n| carton.outside[n]);
        let floor = [0, 1].map(|n: usize| base.plan[n] + rules.overhang[n] * 2.0);
        if floor.iter().any(|f| f.to_mm() < 1.0) {
            continue;
        }
        let found = patterns(&Ask {
            floor,
            case: [sides[0], sides[1]],
            ways: rules.ways,
            work: rules.work,
        })?;
        let Some((layers, count, limit)) = stack(base, carton, rules, sides[2], found.count) else {
            continue;
        };
        let laid: Vec<Centred> = found
            .patterns
            .iter()
            .map(|p| Centred::new(p, base))
            .collect();
        for arrangement in &rules.arrangements {
            let Some((which, between)) = pick(&laid, *arrangement) else {
                continue;
            };
            let Some(pattern) = found.patterns.get(which) else {
                continue;
            };
            let l = Layers {
                base,
                carton,
                tip,
                sides,
                layer: laid[which].0.clone(),
                between,
            };
            let mut load = l.load(*arrangement, layers, count, limit, rules.height);
            load.layer_bound = found.bound;
            load.proof = found.proof;
            load.blocks = pattern.blocks;
            out.push(load);
        }
    }
    out.sort_by(|a, b| (b.count.cmp(&a.count)).then(a.height.to_mm().total_cmp(&b.height.to_mm())));
    Ok(out)
}

fn check(base: &Base, carton: &Carton, rules: &Rules) -> Result<(), Diag> {
    for side in base.plan {
        sound(side, "a side of the base")?;
    }
    for side in carton.outside {
        sound(side, "an outside size of the case")?;
    }
    let small = |v: Length| v.to_mm().is_finite() && v.to_mm().abs() <= 10_000.0;
    if !rules
        .overhang
        .into_iter()
        .chain([base.height, rules.height])
        .all(small)
        || base.height < Length::ZERO
    {
        let message = "a height or overhang that cannot be";
        return Err(Diag::error("bad-size", message).help("give them up to 10 m"));
    }
    let masses = [
        Some(carton.mass),
        Some(base.mass),
        rules.mass,
        base.safe_load,
    ];
    let fits = |m: Mass| m.to_kg().is_finite() && m.to_kg() >= 0.0;
    if !masses.into_iter().flatten().all(fits) {
        let message = "a mass that cannot be";
        return Err(Diag::error("bad-mass", message).help("give masses of zero or more"));
    }
    Ok(())
}

/// Slack on a sum of masses, in kg: rounding only.
const MASS_SLACK: f64 = 1e-9;

/// Layers, cases and what limits them; `None` when not one case goes.
fn stack(
    base: &Base,
    carton: &Carton,
    rules: &Rules,
    upright: Length,
    per_layer: usize,
) -> Option<(usize, usize, Limit)> {
    let room = whole(rules.height, false) - whole(base.height, true);
    let high = usize::try_from(room / whole(upright, true)).ok()?;
    let mut most = (high * per_layer, Limit::Height);
    let by_mass = |kg: f64| {
        let each = carton.mass.to_kg();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and a number past the range is no limit"
        )]
        if each > 0.0 {
            ((kg + MASS_SLACK).max(0.0) / each) as usize
        } else {
            usize::MAX
        }
    };
    let limits = [
        (
            rules.mass.map(|m| by_mass(m.to_kg() - base.mass.to_kg())),
            Limit::Mass,
        ),
        (base.safe_load.map(|m| by_mass(m.to_kg())), Limit::SafeLoad),
        (rules.wanted, Limit::Wanted),
    ];
    for (count, limit) in limits {
        if let Some(count) = count
            && count < most.0
        {
            most = (count, limit);
        }
    }
    if !rules.part_layer && per_layer > 0 {
        most.0 -= most.0 % per_layer;
    }
    (most.0 > 0).then(|| (most.0.div_ceil(per_layer), most.0, most.1))
}

/// A pattern with its middle over that of the base, in micrometres from the base's least corner.
struct Centred(Vec<Placed>);

impl Centred {
    fn new(pattern: &Pattern, base: &Base) -> Self {
        let shift = [0, 1].map(|n: usize| {
            (whole(base.plan[n], false) - whole(pattern.extent[n], true)).div_euclid(2)
        });
        let each = pattern.cases.iter().map(|c| {
            [
                whole(c.x, false) + shift[0],
                whole(c.y, false) + shift[1],
                whole(c.along_x, false),
                whole(c.along_y, false),
            ]
        });
        Self(each.collect())
    }
    /// The pattern mirrored left-right, near-far, both, and turned a quarter where it still lies
    /// within its own bounds.
    fn others(&self) -> Vec<Vec<Placed>> {
        let ends = |axis: usize| {
            let low = self.0.iter().map(|r| r[axis]).min().unwrap_or(0);
            let high = self
                .0
                .iter()
                .map(|r| r[axis] + r[axis + 2])
                .max()
                .unwrap_or(0);
            (low, high)
        };
        let (x, y) = (ends(0), ends(1));
        let across = |r: &Placed| [x.0 + x.1 - r[0] - r[2], r[1], r[2], r[3]];
        let along = |r: &Placed| [r[0], y.0 + y.1 - r[1] - r[3], r[2], r[3]];
        let mut all = vec![
            self.0.iter().map(across).collect::<Vec<_>>(),
            self.0.iter().map(along).collect(),
            self.0.iter().map(across).map(|r| along(&r)).collect(),
        ];
        if x.1 - x.0 == y.1 - y.0 {
            let quarter = |r: &Placed| [x.0 + r[1] - y.0, y.0 + r[0] - x.0, r[3], r[2]];
            let turned: Vec<Placed> = self.0.iter().map(quarter).collect();
            all.push(turned.iter().map(across).collect());
            all.push(turned);
        }
        all
    }
}

/// A pattern and what lies between. A column takes the pattern with fewest blocks; an interlocked load
/// the pair with fewest corners over corners, then with most cases that bridge a joint.
fn pick(laid: &[Centred], arrangement: Arrangement) -> Option<(usize, Vec<Placed>)> {
    if arrangement == Arrangement::Column {
        return laid.first().map(|l| (0, l.0.clone()));
    }
    let mut best: Option<([f64; 2], usize, Vec<Placed>)> = None;
    for (n, one) in laid.iter().enumerate() {
        for other in one.others() {
            let s = standing(&other, &one.0);
            let worth = [s.corners, -s.bridging];
            if s.corners < 1.0 && best.as_ref().is_none_or(|b| worth < b.0) {
                best = Some((worth, n, other));
            }
        }
    }
    best.map(|(_, n, other)| (n, other))
}

struct Layers<'a> {
    base: &'a Base,
    carton: &'a Carton,
    tip: Tip,
    sides: [Length; 3],
    layer: Vec<Placed>,
    between: Vec<Placed>,
}

impl Layers<'_> {
    fn load(
        &self,
        arrangement: Arrangement,
        layers: usize,
        count: usize,
        limit: Limit,
        most_high: Length,
    ) -> Load {
        let per_layer = self.layer.len();
        let full = count / per_layer;
        let of = |n: usize| {
            if n.is_multiple_of(2) {
                &self.layer
            } else {
                &self.between
            }
        };
        let top = (full < layers).then(|| nearest(of(full), count - full * per_layer));
        let number = |n: usize| {
            #[allow(clippy::cast_precision_loss, reason = "counts of cases are small")]
            let n = n as f64;
            n
        };
        let base_area = self.base.plan[0].to_mm() * self.base.plan[1].to_mm();
        let case_area = self.sides[0].to_mm() * self.sides[1].to_mm();
        let room = (most_high - self.base.height).to_mm() * base_area;
        let load_mass = self.carton.mass * number(count);
        // Each case weighs the same: the centre is the mean of theirs, with the base's own.
        let mut sum = [0.0; 3];
        for n in 0..layers {
            let cases = top.as_ref().filter(|_| n == full).unwrap_or(of(n));
            for r in cases {
                sum[0] += length(2 * r[0] + r[2]).to_mm() / 2.0;
                sum[1] += length(2 * r[1] + r[3]).to_mm() / 2.0;
                sum[2] += self.base.height.to_mm() + (number(n) + 0.5) * self.sides[2].to_mm();
            }
        }
        let base_centre = [
            self.base.plan[0].to_mm() / 2.0,
            self.base.plan[1].to_mm() / 2.0,
            self.base.height.to_mm() / 2.0,
        ];
        let gross = load_mass + self.base.mass;
        let centre = [0, 1, 2].map(|axis: usize| {
            let cases = sum[axis] / number(count);
            // Nothing that weighs nothing has a centre of mass; then the cases' middle is given.
            Length::mm(if gross > Mass::ZERO {
                (cases * load_mass.to_kg() + base_centre[axis] * self.base.mass.to_kg())
                    / gross.to_kg()
            } else {
                cases
            })
        });
        let ends = |axis: usize, low: bool| {
            let seen = self
                .layer
                .iter()
                .chain(self.between.iter().filter(|_| layers > 1));
            let plan = whole(self.base.plan[axis], false);
            let past = seen.map(|r| {
                if low {
                    -r[axis]
                } else {
                    r[axis] + r[axis + 2] - plan
                }
            });
            length(past.max().unwrap_or(0))
        };
        let upper = top.as_ref().filter(|_| full == 1).unwrap_or(&self.between);
        Load {
            base: self.base.clone(),
            case: self.sides,
            tip: self.tip,
            arrangement,
            layer: spots(&self.layer),
            between: spots(&self.between),
            top: top.as_deref().map(spots),
            per_layer,
            layer_bound: per_layer,
            proof: Proof::None,
            layers,
            count,
            limit,
            height: self.base.height + self.sides[2] * number(layers),
            load_mass,
            gross_mass: gross,
            area_share: number(per_layer) * case_area / base_area,
            volume_share: number(count) * case_area * self.sides[2].to_mm() / room,
            centre,
            overhang: [ends(0, true), ends(0, false), ends(1, true), ends(1, false)],
            standing: (layers > 1).then(|| standing(upper, &self.layer)),
            blocks: 0,
        }
    }
}

/// So many cases of a layer, those nearest the middle, so that a part layer does not lean.
fn nearest(layer: &[Placed], count: usize) -> Vec<Placed> {
    let middle = [0, 1].map(|axis: usize| {
        let low = layer.iter().map(|r| 2 * r[axis]).min().unwrap_or(0);
        let high = layer
            .iter()
            .map(|r| 2 * (r[axis] + r[axis + 2]))
            .max()
            .unwrap_or(0);
        (low + high) / 2
    });
    let off = |r: &Placed| {
        [0, 1].map(|axis: usize| {
            let d = i128::from(2 * r[axis] + r[axis + 2] - middle[axis]);
            d * d
        })
    };
    let mut all = layer.to_vec();
    all.sort_by_key(|r| (off(r).iter().sum::<i128>(), *r));
    all.truncate(count);
    all.sort_by_key(|r| (r[1], r[0]));
    all
}

fn spots(layer: &[Placed]) -> Vec<Spot> {
    let each = layer.iter().map(|r| Spot {
        x: length(r[0]),
        y: length(r[1]),
        along_x: length(r[2]),
        along_y: length(r[3]),
    });
    each.collect()
}
