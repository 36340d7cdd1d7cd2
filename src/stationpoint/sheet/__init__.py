"""How a contact sheet looks: takes in, pages of shapes out. Nothing here projects a point."""
