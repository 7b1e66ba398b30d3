"""An invented district of any size: the same seed and size, the same food, menus and children."""
