package memlog_test

import (
	"testing"

	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

func TestConformance(t *testing.T) {
	logtest.Run(t, func(*testing.T) logtest.Store {
		logs := map[model.HouseholdID]oplog.Log{}
		return logtest.Store{Open: func(_ *testing.T, h model.HouseholdID) oplog.Log {
			if logs[h] == nil {
				logs[h] = memlog.New(h)
			}
			return logs[h]
		}}
	})
}
