"""Frames and exact times of clips and stills; the only place that runs ffmpeg."""
