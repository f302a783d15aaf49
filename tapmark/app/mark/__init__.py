"""The Frames page and the Taps page: key frames are chosen, then points are tapped."""
