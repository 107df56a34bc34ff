"""What a battery, a bank, a rule, a lead, a load is: frozen, checked, in SI."""
