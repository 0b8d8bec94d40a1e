"""What an order hands over: map, labels, proof, offer, and its figures."""
