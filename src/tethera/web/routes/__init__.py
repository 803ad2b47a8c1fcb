"""Routes: pitch by pitch, drawn as they are typed, every version kept."""
