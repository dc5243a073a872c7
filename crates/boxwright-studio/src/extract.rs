//! Extractors whose refusals are JSON like every other.

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

use crate::refuse::Refuse;

/// A JSON body.
pub struct Body<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Refuse;
    async fn from_request(req: Request, state: &S) -> Result<Self, Refuse> {
        let axum::Json(value) = axum::Json::<T>::from_request(req, state).await?;
        Ok(Self(value))
    }
}

/// The name in an address.
pub struct Name(pub String);

impl<S: Send + Sync> FromRequestParts<S> for Name {
    type Rejection = Refuse;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Refuse> {
        let axum::extract::Path(name) =
            axum::extract::Path::<String>::from_request_parts(parts, state).await?;
        Ok(Self(name))
    }
}

/// What stands after the question mark.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = Refuse;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Refuse> {
        let axum::extract::Query(value) =
            axum::extract::Query::<T>::from_request_parts(parts, state).await?;
        Ok(Self(value))
    }
}
