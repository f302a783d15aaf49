"""What leaves as a page or a picture: drawings as values, pages set from them."""
