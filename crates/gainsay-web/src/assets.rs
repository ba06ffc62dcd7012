//! What stands beside the pages: style, scripts, fonts. Embedded; their addresses hold a hash, so that a browser may keep them.

use crate::safety::body;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;
use std::sync::LazyLock;

struct Asset {
    name: &'static str,
    media_type: &'static str,
    bytes: Vec<u8>,
    /// The same compressed, where that saves anything.
    compressed: Option<Vec<u8>>,
    hash: String,
}

const SERIF: &[u8] = include_bytes!("../assets/source-serif-4-normal.woff2");
const SERIF_ITALIC: &[u8] = include_bytes!("../assets/source-serif-4-italic.woff2");
const SANS: &[u8] = include_bytes!("../assets/source-sans-3-normal.woff2");
const HTMX: &[u8] = include_bytes!("../assets/htmx.min.js");
const SCRIPT: &str = include_str!("../assets/page.js");
const STYLE: &str = include_str!("../assets/page.css");
const ICON: &str = include_str!("../assets/icon.svg");

static ASSETS: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    let mut assets = vec![
        asset("source-serif-4-normal.woff2", "font/woff2", SERIF.to_vec()),
        asset("source-serif-4-italic.woff2", "font/woff2", SERIF_ITALIC.to_vec()),
        asset("source-sans-3-normal.woff2", "font/woff2", SANS.to_vec()),
        asset("htmx.js", "text/javascript", HTMX.to_vec()),
        asset("page.js", "text/javascript", SCRIPT.as_bytes().to_vec()),
        asset("icon.svg", "image/svg+xml", ICON.as_bytes().to_vec()),
    ];
    // The style sheet names the fonts by their addresses.
    let mut style = format!("{}{STYLE}{}", gainsay_picture::COLOURS, gainsay_picture::rules());
    for font in assets.iter().filter(|asset| asset.media_type == "font/woff2") {
        style = style.replace(&format!("url({})", font.name), &format!("url({})", address_of(font)));
    }
    assets.push(asset("page.css", "text/css", style.into_bytes()));
    assets
});

fn asset(name: &'static str, media_type: &'static str, bytes: Vec<u8>) -> Asset {
    // FNV-1a: nobody has to be kept from finding another file with the same hash.
    let hash = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    });
    let compressed = (media_type != "font/woff2").then(|| compress(&bytes)).flatten();
    Asset { name, media_type, bytes, compressed, hash: format!("{hash:016x}") }
}

fn compress(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).ok()?;
    encoder.finish().ok()
}

fn address_of(asset: &Asset) -> String {
    format!("/assets/{}/{}", asset.hash, asset.name)
}

/// Where an asset is to be had.
pub(crate) fn address(name: &str) -> String {
    ASSETS.iter().find(|asset| asset.name == name).map_or_else(String::new, address_of)
}

pub(crate) async fn serve(Path((hash, name)): Path<(String, String)>, headers: HeaderMap) -> Response {
    let Some(asset) = ASSETS.iter().find(|asset| asset.name == name && asset.hash == hash) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let accepts =
        headers.get(header::ACCEPT_ENCODING).and_then(|accepts| accepts.to_str().ok()).unwrap_or("");
    let gzip = accepts.split(',').any(|coding| coding.trim().split(';').next() == Some("gzip"));
    let common = [
        (header::CONTENT_TYPE, asset.media_type),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
        (header::VARY, "accept-encoding"),
    ];
    match &asset.compressed {
        Some(compressed) if gzip => {
            (common, [(header::CONTENT_ENCODING, "gzip")], body(compressed.clone())).into_response()
        }
        _ => (common, body(asset.bytes.clone())).into_response(),
    }
}
