"""Proven reference values for engineering statics, put to a calculator under test."""
