"""The ways a call reaches people: phones, the loudspeaker, a webhook; one desk supervises all."""
