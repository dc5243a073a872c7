//! Kinds of files, as the library lists them.

use std::borrow::Cow;

use boxwright::emit::bundle::Kind;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use ts_rs::{Config, TS};
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{Object, ObjectBuilder, Schema, Type};
use utoipa::{PartialSchema, ToSchema};

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FileKind(pub Kind);

const NAME: &str = "FileKind";
const ABOUT: &str = "A kind of file.";

fn words() -> impl Iterator<Item = &'static str> {
    Kind::ALL.into_iter().map(Kind::word)
}

impl Serialize for FileKind {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.0.word())
    }
}

impl<'de> Deserialize<'de> for FileKind {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let word = String::deserialize(from)?;
        let kind = Kind::ALL.into_iter().find(|k| k.word() == word);
        kind.map(Self).ok_or_else(|| {
            let known: Vec<&str> = words().collect();
            D::Error::custom(format!("a kind of file is one of {}", known.join(", ")))
        })
    }
}

impl PartialSchema for FileKind {
    fn schema() -> RefOr<Schema> {
        let object: Object = ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some(ABOUT))
            .enum_values(Some(words()))
            .build();
        object.into()
    }
}

impl ToSchema for FileKind {
    fn name() -> Cow<'static, str> {
        NAME.into()
    }
}

impl TS for FileKind {
    type WithoutGenerics = Self;
    type OptionInnerType = Self;

    fn docs() -> Option<String> {
        Some(format!("/**\n * {ABOUT}\n */\n"))
    }
    fn decl(cfg: &Config) -> String {
        format!("type {NAME} = {};", Self::inline(cfg))
    }
    fn decl_concrete(cfg: &Config) -> String {
        Self::decl(cfg)
    }
    fn name(_: &Config) -> String {
        NAME.to_owned()
    }
    fn inline(_: &Config) -> String {
        let quoted: Vec<String> = words().map(|w| format!("\"{w}\"")).collect();
        quoted.join(" | ")
    }
    fn output_path() -> Option<std::path::PathBuf> {
        Some(format!("{NAME}.ts").into())
    }
}
