//! What a request that came to nothing is answered with.

use serde::Serialize;
use ts_rs::TS;
use utoipa::ToSchema;

/// Every answer that is not a success.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Refusal {
    /// What is wrong.
    pub error: Trouble,
}

/// What is wrong with a request.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Trouble {
    /// Stable, such as `changed-on-disk`.
    pub code: String,
    /// In one sentence.
    pub message: String,
    /// What would cure it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    #[schema(nullable = false)]
    pub help: Option<String>,
}
