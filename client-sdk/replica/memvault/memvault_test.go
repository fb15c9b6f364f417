package memvault_test

import (
	"testing"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/client-sdk/replica/vaulttest"
)

func TestVault(t *testing.T) {
	vaulttest.Run(t, func(*testing.T) vaulttest.Store {
		vaults := map[string]*memvault.Vault{}
		return vaulttest.Store{Open: func(_ *testing.T, name string) replica.Vault {
			if vaults[name] == nil {
				vaults[name] = memvault.New()
			}
			return vaults[name]
		}}
	})
}
