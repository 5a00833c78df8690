"""Charts: pictures of a question, each an inline SVG with real text, a title and a description."""
