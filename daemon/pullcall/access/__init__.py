"""Who may do what: invitations, pairings, codes, tickets, and what of them outlives a restart."""
