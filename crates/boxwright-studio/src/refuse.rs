//! The one error type of the server: every refusal is JSON of the same shape.

use axum::Json;
use axum::extract::rejection::{JsonRejection, PathRejection, QueryRejection};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use boxwright::diag::Diag;

use crate::wire::{Refusal, Trouble};

/// Why a request came to nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refuse {
    /// HTTP status.
    pub status: StatusCode,
    /// Stable, such as `no-job`.
    pub code: &'static str,
    /// In one sentence.
    pub message: String,
    /// What would cure it.
    pub help: Option<String>,
}

impl Refuse {
    /// A refusal.
    pub fn new(status: StatusCode, code: &'static str, message: impl Into<String>) -> Self {
        Self {
            status,
            code,
            message: message.into(),
            help: None,
        }
    }
    /// With this cure.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
    /// 404.
    pub fn absent(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, code, message)
    }
    /// 409: what was asked is well formed but does not go together with the case or the file.
    pub fn conflict(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(StatusCode::CONFLICT, code, message)
    }
    /// 422.
    pub fn unfit(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, code, message)
    }
    /// 500, with words that say nothing of the machine.
    pub fn broken() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "broken",
            "the program stumbled over this request; what is on disk is as it was",
        )
    }
    /// 409 with the first of some messages, under its own code, and the cures of all.
    #[must_use]
    pub fn of_first(diags: &[Diag]) -> Self {
        let code = diags.first().map_or("not-made", |d| d.code);
        let mut all = Self::of_diags(code, diags);
        let more: Vec<&str> = diags
            .iter()
            .skip(1)
            .take(3)
            .map(|d| d.message.as_str())
            .collect();
        for text in more {
            all.message.push_str("; ");
            all.message.push_str(text);
        }
        all
    }
    /// 409 with the first of some messages.
    #[must_use]
    pub fn of_diags(code: &'static str, diags: &[Diag]) -> Self {
        let first = diags.first();
        let message = first.map_or("this cannot be drawn", |d| d.message.as_str());
        Self {
            help: first.and_then(|d| d.help.clone()),
            ..Self::conflict(code, message)
        }
    }
}

impl IntoResponse for Refuse {
    fn into_response(self) -> Response {
        let body = Refusal {
            error: Trouble {
                code: self.code.to_owned(),
                message: self.message,
                help: self.help,
            },
        };
        (self.status, Json(body)).into_response()
    }
}

impl From<JsonRejection> for Refuse {
    fn from(r: JsonRejection) -> Self {
        let status = r.status();
        let code = match status {
            StatusCode::UNSUPPORTED_MEDIA_TYPE => "not-json",
            StatusCode::PAYLOAD_TOO_LARGE => "too-large",
            StatusCode::UNPROCESSABLE_ENTITY => "wrong-shape",
            _ => "unreadable",
        };
        Self::new(status, code, r.body_text())
    }
}

impl From<PathRejection> for Refuse {
    fn from(r: PathRejection) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "bad-path", r.body_text())
    }
}

impl From<QueryRejection> for Refuse {
    fn from(r: QueryRejection) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "bad-query", r.body_text())
    }
}
