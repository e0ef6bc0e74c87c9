"""What runs on the student's side: form, journal, quantities, hand-in."""
