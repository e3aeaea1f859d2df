"""Conditions on facts: a small part of JSON Schema, checked, put in words, evaluated, and compiled."""
