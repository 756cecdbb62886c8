"""Calls and alarms: rules, states, words."""
