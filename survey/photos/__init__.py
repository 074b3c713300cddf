"""Photos: taking in, decoding, smaller pictures, marks, crops."""
