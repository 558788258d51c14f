"""From text to words: read without loss, block after block."""
