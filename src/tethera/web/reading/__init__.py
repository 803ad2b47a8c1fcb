"""Reading a mark: by the camera of a telephone, or from a photograph of it."""
