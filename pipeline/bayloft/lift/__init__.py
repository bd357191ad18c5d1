"""From what was taken off something that exists to its spec: boards, fins, rails."""
