"""Shapes, type and the painters. Shapes are in pixels, y down; nothing is rounded before painting."""
