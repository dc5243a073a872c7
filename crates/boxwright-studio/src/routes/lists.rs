//! What there is to choose from.

#![allow(
    unused_qualifications,
    reason = "the macro that describes an address writes full paths"
)]

use std::fmt::Write as _;
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boxwright::emit::picture::{View, picture as draw_picture};
use boxwright::fold::Folder;
use boxwright::style::Style;
use serde::Deserialize;

use super::App;
use crate::design::{Blanks, draw, kind};
use crate::extract::{Name, Query};
use crate::refuse::Refuse;
use crate::wire::{self, BoardLine, ParameterHead, Refusal, StyleLine};

/// Every style: those that come with the program, then those of the opened folder.
#[utoipa::path(get, path = "/api/styles", responses(
    (status = 200, description = "Every style", body = Vec<StyleLine>),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn styles(State(app): State<Arc<App>>) -> Result<Json<Vec<StyleLine>>, Refuse> {
    let lines = app.compute(|app| {
        let shipped = app.shelf.styles().iter();
        let mut lines: Vec<StyleLine> = shipped.map(|(n, s)| line(n, s, false)).collect();
        lines.extend(app.shelf.own_styles().iter().map(|(n, s)| line(n, s, true)));
        lines
    });
    Ok(Json(lines.await?))
}

fn line(name: &str, style: &Style, own: bool) -> StyleLine {
    let pieces = if style.pieces.len() > 1 {
        "more than one piece"
    } else {
        "one piece"
    };
    let mut tags = Vec::new();
    if let Some(s) = &style.suits {
        tags.extend(s.uses.iter().cloned());
        if !matches!(s.closing.as_str(), "tape" | "glue") {
            tags.push("no tape or glue to close".to_owned());
        }
        if s.opening == "again" {
            tags.push("opens again".to_owned());
        }
    }
    tags.push(pieces.to_owned());
    StyleLine {
        name: name.to_owned(),
        own,
        title: style.title.clone(),
        code: style.code.clone(),
        purpose: style.purpose.clone(),
        tags,
        parameters: style
            .parameters
            .iter()
            .map(|p| {
                let (kind, choices) = kind(&p.kind);
                ParameterHead {
                    name: p.name.clone(),
                    help: p.help.clone(),
                    kind,
                    choices,
                }
            })
            .collect(),
    }
}

/// What a picture is drawn for.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Look {
    /// The page's background.
    #[serde(default)]
    #[param(inline, required = false)]
    theme: Theme,
}

/// The page's background.
#[derive(Clone, Copy, Debug, Default, Deserialize, utoipa::ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    /// Bright.
    #[default]
    Light,
    /// Dim.
    Dark,
}

impl Theme {
    /// A picture in the colours for this background: by night every colour is as much darker.
    fn coloured(self, svg: String) -> String {
        const NIGHT: u32 = 72;
        if matches!(self, Self::Light) {
            return svg;
        }
        let mut out = String::with_capacity(svg.len());
        let mut rest = svg.as_str();
        while let Some(at) = rest.find('#') {
            let (before, from) = rest.split_at(at);
            out.push_str(before);
            let parts = [1, 3, 5].map(|k| from.get(k..k + 2));
            let parts = parts.map(|p| p.and_then(|p| u32::from_str_radix(p, 16).ok()));
            let taken = if let [Some(r), Some(g), Some(b)] = parts {
                let [r, g, b] = [r, g, b].map(|v| v * NIGHT / 100);
                let _ = write!(out, "#{r:02x}{g:02x}{b:02x}");
                7
            } else {
                out.push('#');
                1
            };
            rest = &from[taken..];
        }
        out.push_str(rest);
        out
    }
}

/// Size of a picture in the gallery, in mm of its page.
const PICTURE: (f64, f64) = (120.0, 90.0);

/// A picture of a folded case of this style at a usual size.
#[utoipa::path(get, path = "/api/styles/{name}/picture.svg", params(
    ("name" = String, Path, example = "mailer", description = "Name of a style"),
    Look,
), responses(
    (status = 200, description = "The picture", body = String, content_type = "image/svg+xml"),
    (status = 404, description = "There is no such style", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn picture(
    State(app): State<Arc<App>>,
    Name(name): Name,
    Query(look): Query<Look>,
) -> Result<Response, Refuse> {
    let shipped = app.shelf.styles().iter().any(|(n, _)| *n == name);
    // A file of the folder may change at any time.
    let keep = if shipped {
        "private, max-age=3600"
    } else {
        "no-store"
    };
    let drawing = app.compute(move |app| {
        if shipped || app.shelf.own_style(&name).is_some() {
            drawn(app, &name)
        } else {
            Err(Refuse::absent(
                "no-style",
                format!("there is no style `{name}`"),
            ))
        }
    });
    let svg = look.theme.coloured(drawing.await??);
    Ok((
        [
            (header::CONTENT_TYPE, "image/svg+xml"),
            (header::CACHE_CONTROL, keep),
        ],
        svg,
    )
        .into_response())
}

fn drawn(app: &App, name: &str) -> Result<String, Refuse> {
    for [length, width, depth] in [
        [300, 200, 150],
        [300, 220, 80],
        [250, 150, 60],
        [320, 240, 50],
    ] {
        let state = wire::State {
            title: String::new(),
            style: name.to_owned(),
            inside: wire::Inside {
                length: format!("{length}mm"),
                width: format!("{width}mm"),
                depth: format!("{depth}mm"),
            },
            board: "C".to_owned(),
            crease: wire::Crease::Rule,
            set: std::collections::BTreeMap::new(),
            caliper: None,
            axis_depth: None,
            sheet: None,
            bed: None,
            no_measured: true,
            quantity: 1,
            drawing: wire::Drawing::default(),
            job: None,
            board_files: Vec::new(),
            fitments: Vec::new(),
            contents: Vec::new(),
            splits: Vec::new(),
            marks: Vec::new(),
        };
        if let Ok(d) = draw(&app.shelf, &state)
            && let Blanks::Sound(plan) = &d.blanks
        {
            let folder = Folder::new(plan);
            let mut pose = folder.pose(plan.stages.len());
            pose.moved.clear();
            pose.shown_up = pose.up;
            let (w, h) = PICTURE;
            return Ok(draw_picture(&pose, None, &View::default(), w, h).to_svg());
        }
    }
    Err(Refuse::conflict(
        "not-drawn",
        "no picture of this style can be drawn at the usual sizes",
    ))
}

/// Every board.
#[utoipa::path(get, path = "/api/boards", responses(
    (status = 200, description = "Every board", body = Vec<BoardLine>),
    (status = "4XX", description = "Refused", body = Refusal),
))]
pub async fn boards(State(app): State<Arc<App>>) -> Json<Vec<BoardLine>> {
    let line = |b: &boxwright::board::Board| BoardLine {
        name: b.name.clone(),
        title: b.title.clone(),
        caliper: b.caliper.to_mm(),
        wall: b.wall.word().to_owned(),
    };
    Json(app.shelf.boards().iter().map(line).collect())
}
