//! The second page: the load on a pallet, containers and trailers.

use super::page::{BAD, Column, GREY, INK, MARGIN, Pages, ROOM, SMALL, TEXT};
use super::{Shipping, words};
use crate::emit::load::{Field, layers_in, picture_in};
use crate::emit::scene::Anchor;
use crate::geom::DVec2;
use crate::haul::{InRoom, Palletised};
use crate::pallet::{Limit, Proof};
use crate::units::trimmed;

/// Breadth of each of both drawings.
const EACH: f64 = 0.5 * ROOM;

impl Shipping<'_> {
    pub(super) fn pallet(&self, pages: &mut Pages) {
        let (h, unit) = (self.haul, self.unit);
        let c = Column::WHOLE;
        let title = format!("On a pallet: {}", h.pallet.title);
        let (title, _) = pages.letters.fitted(&title, super::HEAD, true, ROOM);
        pages.heading(c, &title);
        let Some(best) = h.best() else {
            let text = format!("Not one case goes on it up to {}.", unit.show(h.height));
            pages.text(c, TEXT, true, BAD, &text);
            return;
        };
        let load = &best.load;
        let proof = match load.proof {
            Proof::Bound | Proof::Tried => "no layer holds more, proved".to_owned(),
            Proof::None => format!(
                "not proved to be the most: the bound is {}",
                load.layer_bound
            ),
        };
        let text = format!(
            "{} cases {}: {} of {} ({proof}); {} high, {} in all, {} % of the pallet's area.",
            load.count,
            words::arrangement(load.arrangement),
            counted(load.layers, "layer"),
            load.per_layer,
            unit.show(load.height),
            words::mass(load.gross_mass, unit),
            trimmed(100.0 * load.area_share, 1)
        );
        pages.text(c, TEXT, false, INK, &text);
        let field = |tallest| Field {
            wide: EACH,
            tallest,
            words: false,
        };
        let above = layers_in(load, unit, field(58.0));
        let whole = picture_in(load, unit, field(68.0));
        let top = pages.y + 1.0;
        let high = above.height.max(whole.height) - 5.0;
        pages.page.put(above, DVec2::new(MARGIN, top));
        pages.page.put(whole, DVec2::new(MARGIN + EACH, top));
        pages.y = top + high;
        let rows: Vec<Vec<String>> = h.loads.iter().map(|p| self.load(p)).collect();
        pages.table(
            &[
                ("layers lie", 24.0, Anchor::Start),
                ("cases", 14.0, Anchor::End),
                ("layers", 16.0, Anchor::End),
                ("height", 22.0, Anchor::End),
                ("strength kept", 27.0, Anchor::End),
                ("bottom case needs", 38.0, Anchor::End),
                ("kept low by", 39.0, Anchor::Start),
            ],
            &rows,
        );
        if h.loads.len() == 1 && best.layers_by_room > 1 {
            let text = "Interlocked: no layer of as many cases lies otherwise than this one.";
            pages.text(c, SMALL, false, GREY, text);
        }
    }

    fn load(&self, p: &Palletised) -> Vec<String> {
        let (l, unit) = (&p.load, self.unit);
        let low = if p.by_strength {
            format!("strength; {} by room", p.layers_by_room)
        } else {
            match l.limit {
                Limit::Height => "height",
                Limit::Mass => "mass",
                Limit::SafeLoad => "what the pallet bears",
                Limit::Wanted => "number wanted",
            }
            .to_owned()
        };
        vec![
            words::arrangement(l.arrangement).to_owned(),
            l.count.to_string(),
            l.layers.to_string(),
            unit.show(l.height),
            words::share_range(p.kept),
            words::force_range(p.needs, unit),
            low,
        ]
    }

    pub(super) fn rooms(&self, pages: &mut Pages) {
        if self.haul.rooms.is_empty() {
            return;
        }
        pages.room_for(30.0);
        pages.heading(Column::WHOLE, "Containers and trailers");
        let rows: Vec<Vec<String>> = self.haul.rooms.iter().map(|r| self.room(r)).collect();
        pages.table(
            &[
                ("room", 58.0, Anchor::Start),
                ("inside", 47.0, Anchor::Start),
                ("pallets", 16.0, Anchor::End),
                ("cases on them", 22.0, Anchor::End),
                ("cases loose", 20.0, Anchor::End),
                ("", 17.0, Anchor::Start),
            ],
            &rows,
        );
    }

    fn room(&self, r: &InRoom) -> Vec<String> {
        let of = |n: Option<usize>| n.map_or_else(|| "\u{2013}".to_owned(), |n| n.to_string());
        let mass = r.pallets.as_ref().is_some_and(|p| p.by_mass)
            || r.loose.as_ref().is_some_and(|l| l.by_mass);
        vec![
            r.room.title.clone(),
            super::size(r.room.value.inside, self.unit),
            of(r.pallets.as_ref().map(|p| p.count)),
            of(r.pallets.as_ref().map(|_| r.cases)),
            of(r.loose.as_ref().map(|l| l.count)),
            if mass { "by mass" } else { "" }.to_owned(),
        ]
    }
}

fn counted(n: usize, word: &str) -> String {
    if n == 1 {
        format!("1 {word}")
    } else {
        format!("{n} {word}s")
    }
}
