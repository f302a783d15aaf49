"""Brightness and contrast of the pictures shown; what is stored stays as filmed."""

from dataclasses import dataclass

from PIL import Image, ImageEnhance


@dataclass(frozen=True)
class Tone:
    """Brightness and contrast as factors; 1 leaves a picture as it is."""

    brightness: float = 1.0
    contrast: float = 1.0

    def applied(self, image: Image.Image) -> Image.Image:
        """Return the image with this tone; the very same image when there is nothing to do."""
        if self.brightness != 1.0:
            image = ImageEnhance.Brightness(image).enhance(self.brightness)
        if self.contrast != 1.0:
            image = ImageEnhance.Contrast(image).enhance(self.contrast)
        return image
