"""Pages in millimetres, as PDF and as HTML: athlete, coach, group, cards; pictures for a phone."""
