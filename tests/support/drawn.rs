//! What a drawing shows, read off the SVG alone.

use roxmltree::Node;

/// Is this link drawn with its colour? It has bars on a plate then, or a patch on a tooth of a belt; a plain link is the one
/// or the other.
pub(crate) fn is_coloured(link: &Node<'_, '_>) -> bool {
    ["path", "rect"]
        .iter()
        .all(|tag| link.children().any(|child| child.has_tag_name(*tag)))
}
