"""What a tool does with parts: pieces that key together, sheets, toolpaths and their proof."""
