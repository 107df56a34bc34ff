"""What the page "Your bank" is made of."""
