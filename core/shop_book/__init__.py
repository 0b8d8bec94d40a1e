"""What the shop remembers: machines, stocks, recipes, coupons, offcuts, jobs done."""
