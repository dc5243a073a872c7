//! What there is to choose from.

#![allow(
    unused_qualifications,
    reason = "the macro that describes an address writes full paths"
)]

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

/// Every style.
#[utoipa::path(get, path = "/api/styles", responses(
    (status = 200, description = "Every style", body = Vec<StyleLine>),
    (status = "4XX", description = "Refused", body = Refusal),
))]
pub async fn styles(State(app): State<Arc<App>>) -> Json<Vec<StyleLine>> {
    let line = |style: &Arc<Style>| StyleLine {
        name: style.name.clone(),
        title: style.title.clone(),
        code: style.code.clone(),
        purpose: style.purpose.clone(),
        tags: tags(style),
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
    };
    Json(app.shelf.styles().iter().map(|(_, s)| line(s)).collect())
}

/// Words to filter styles by, taken from what the style itself says it is for.
fn tags(style: &Style) -> Vec<String> {
    const WORDS: [(&str, &[&str]); 6] = [
        ("post", &["post", "mail", "send", "ship", "parcel"]),
        ("store", &["store", "keep", "archive"]),
        ("stack", &["stack"]),
        ("fragile", &["fragile", "heavy", "protect", "strong"]),
        ("flat", &["flat", "shallow", "print", "book"]),
        ("show", &["show", "shop", "gift", "present", "opens"]),
    ];
    let text = style.purpose.to_lowercase();
    let mut out: Vec<String> = WORDS
        .iter()
        .filter(|(_, known)| known.iter().any(|k| text.contains(k)))
        .map(|(tag, _)| (*tag).to_owned())
        .collect();
    out.push(
        if style.pieces.len() > 1 {
            "two pieces"
        } else {
            "one piece"
        }
        .to_owned(),
    );
    out
}

/// What a picture is drawn for.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct Look {
    /// The page's background.
    #[serde(default)]
    #[param(inline, required = false)]
    #[allow(
        dead_code,
        reason = "the board has the same colours on both; kept for the page"
    )]
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
    Query(_): Query<Look>,
) -> Result<Response, Refuse> {
    let known = app.shelf.styles().iter().any(|(n, _)| *n == name);
    if !known {
        return Err(Refuse::absent(
            "no-style",
            format!("there is no style `{name}`"),
        ));
    }
    let svg = app.compute(move |app| drawn(app, &name)).await??;
    Ok((
        [
            (header::CONTENT_TYPE, "image/svg+xml"),
            (header::CACHE_CONTROL, "private, max-age=3600"),
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
            quantity: 1,
            drawing: wire::Drawing::default(),
            job: None,
            board_files: Vec::new(),
        };
        if let Ok(d) = draw(&app.shelf, &state)
            && let Blanks::Sound(plan) = &d.blanks
        {
            let folder = Folder::new(plan);
            let mut pose = folder.pose(plan.stages.len());
            pose.moved.clear();
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
